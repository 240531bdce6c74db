"""Words to the trainer itself: heard where they are listened for, and never mixed up with a call."""

import pytest

from phraseology.calls import CALLS, TOWER_CALLS, expect
from phraseology.commands import SURE, Command, command_of, is_sure, only_commands
from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.replies import message, say_message
from phraseology.situation import situation
from phraseology.standards import STANDARDS
from tests.spoken import HERE, VOICES, spoken
from trainer.ears.listener import hear_whole
from trainer.judging import expected_of
from trainer.live.commanding import FLYING, PAUSED

NONSENSE = (
    "the weather is lovely and my neighbour bought a boat",
    "he paused for a moment and then the session went on",
    "yesterday we walked along the river until it was dark",
)


@pytest.fixture
def heard_as(speaker, ears):
    """What the words are heard as at 20 dB over cockpit noise, on a leg where nothing is due, or paused."""

    def hear(words: str, voice: str, call: str, *, paused: bool = False) -> Heard:
        expected = expected_of(HERE(call=call))
        others = [expect(name, expected.context) for name in TOWER_CALLS if name != expected.name]
        graph = only_commands(PAUSED) if paused else situation([expected], others, FLYING)
        return hear_whole(spoken(speaker, words, voice), ears, graph)

    return hear


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("command", FLYING)
def test_a_command_is_heard_among_the_calls(heard_as, command, voice):
    heard = heard_as(command, voice, "initial")
    assert command_of(heard, FLYING) is command, heard
    assert is_sure(heard), heard


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("command", PAUSED)
def test_a_command_is_heard_while_the_clock_stands(heard_as, command, voice):
    heard = heard_as(command, voice, "initial", paused=True)
    assert command_of(heard, PAUSED) is command, heard
    assert is_sure(heard), heard


@pytest.mark.parametrize("call", CALLS)
def test_no_model_call_is_heard_as_a_command(heard_as, call):
    said = expected_of(HERE(call=call)).model_call
    heard = heard_as(said, VOICES[0], call)
    assert command_of(heard, Command) is None, heard
    assert heard.words, "or it would prove nothing"


@pytest.mark.parametrize("call", ["initial", "gear_report", "say_again", "request_closed"])
def test_no_call_said_while_the_clock_stands_is_obeyed(heard_as, call):
    heard = heard_as(expected_of(HERE(call=call)).model_call, VOICES[0], call, paused=True)
    assert not (command_of(heard, PAUSED) and is_sure(heard)), heard


@pytest.mark.parametrize("words", NONSENSE)
@pytest.mark.parametrize("paused", [False, True])
def test_nonsense_commands_nothing(heard_as, words, paused):
    heard = heard_as(words, VOICES[1], "initial", paused=paused)
    assert not (command_of(heard, Command) and is_sure(heard)), heard


@pytest.mark.parametrize("standard", STANDARDS)
def test_no_model_call_or_answer_of_any_standard_is_a_command(standard):
    asked = 0
    for call in CALLS:
        try:
            words = expected_of(HERE(call=call, standard=standard)).model_call
        except Exception as lack:  # calls that this standard has not, or that need more to be said
            assert type(lack).__module__.split(".")[0] in ("trainer", "phraseology"), lack
            continue
        asked += 1
        assert command_of(Heard.typed(words), Command) is None
    assert asked > 10
    spoken = say_message(message("say_again", "SABLE 21", {}), STANDARDS[standard])
    assert command_of(Heard.typed(spoken), Command) is None


def test_a_doubtful_command_is_not_sure():
    words = (HeardWord("end", SURE), HeardWord("session", SURE - 0.01))
    assert not is_sure(Heard(words, HeardBy.SITUATION))
    assert is_sure(Heard((words[0], words[0]), HeardBy.SITUATION))
    assert not is_sure(Heard((words[0], words[0]), HeardBy.LANGUAGE))
    assert is_sure(Heard.typed("pause"))
