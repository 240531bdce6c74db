"""One call judged on its own: what the command line's `assess` does, and the tests with it."""

from pathlib import Path

from drills.check import load_field
from phraseology.assess import Assessment
from phraseology.assess import assess as assess_heard
from phraseology.calls import CALLS, call_kind, expect
from phraseology.elements import Callsign, Kind
from phraseology.errors import PhraseologyError
from phraseology.expected import Context, Expected
from phraseology.heard import Heard
from phraseology.parse import World, parse
from phraseology.phrases import LETTERS, values_of
from phraseology.readback import answer_to
from phraseology.replies import read_message
from phraseology.situation import situation
from phraseology.standards import standard
from phraseology.wordgraph import WordAutomaton
from phraseology.words import tokens
from trainer.commands.question import Question
from trainer.errors import TrainerError

__all__ = ["Question", "context_of", "expected_of", "judge", "listening_for"]


def judge(question: Question, *, said: str | None, wav: Path | None, model: Path | None = None) -> Assessment:
    """The assessment. Raises a known error, with its remedy, for anything in the question that is not so."""
    if (said is None) == (wav is None):
        raise TrainerError("what was said is not clear", "give either --said WORDS or --wav FILE")
    expected = expected_of(question)
    if said is not None:
        return assess_heard(expected, Heard.typed(said))
    assert wav is not None
    return assess_heard(expected, _hear(wav, expected, model))


def expected_of(question: Question) -> Expected:
    """The yardstick for this question."""
    if (question.call is None) == (question.after is None):
        raise TrainerError(
            "what was due is not clear",
            f'give either --call NAME ({", ".join(CALLS)}) or --after "the controller\'s words"',
        )
    context = context_of(question)
    if question.call is not None:
        lacking = context.standard.without_calls.get(call_kind(question.call).name)
        if lacking:
            raise TrainerError(
                f"{context.standard.title} has no {question.call}",
                f"{lacking}; choose another call or standard",
            )
        return expect(question.call, context)
    assert question.after is not None
    message = read_message(question.after, context.world)
    if not message.elements:
        raise TrainerError(
            f'nothing of a controller\'s message in "{question.after}"', "write the words of the tower"
        )
    return answer_to(message, context)


def context_of(question: Question) -> Context:
    """The flight, the place and the standard; known errors for what is not so."""
    field = load_field(question.field)
    runway = field.runway(question.runway)
    callsign = Callsign.of(question.callsign)
    tower = field.tower.lower()
    announced = question.call is not None and call_kind(question.call).without_tower
    station = f"{tower.rpartition(' ')[0]} traffic" if announced else tower
    world = World(
        callsign_words=World().callsign_words | {callsign.word},
        points=frozenset(field.points),
        station=station,
        usual_figures=len(callsign.figures),
    )
    point = None if question.point is None else question.point.upper()
    if point is not None:
        field.point(point)
    return Context(
        standard=standard(question.standard or field.standard),
        world=world,
        callsign=str(callsign),
        runway=runway.end,
        station=station,
        intention=_one_of("intention", question.intention, values_of(Kind.INTENTION)),
        point=point,
        altitude_ft=question.altitude_ft,
        distance_nm=question.distance_nm,
        atis=_one_of("atis", " ".join(tokens(question.atis)) if question.atis else None, tuple(LETTERS)),
        position=_one_of("position", question.position, values_of(Kind.POSITION)),
        where=_where(question.where, world),
        request=_one_of("request", question.request, values_of(Kind.REQUEST)) or "overhead",
        side=runway.break_side,
        flight=question.flight,
        nature=_one_of("nature", question.nature, values_of(Kind.NATURE)),
        fuel_min=question.fuel_min,
        souls=question.souls,
    )


def _one_of(name: str, value: str | None, choices: tuple[str, ...]) -> str | None:
    if value is None:
        return None
    wanted = value.strip().lower().replace("-", "_").replace(" ", "_")
    if wanted not in choices:
        raise PhraseologyError(f'no {name} "{value}"; choose one of: {", ".join(choices)}')
    return wanted


def _where(text: str | None, world: World) -> str | None:
    """ "10 west" or "ten miles west" as "10 west"."""
    if text is None:
        return None
    words = text if "mile" in text else text.replace(" ", " miles ", 1)
    value = parse(words, world).value(Kind.WHERE)
    if value is None:
        raise PhraseologyError(
            f'"{text}" is no position: write miles and a direction, for instance "10 west"'
        )
    return value


def listening_for(expected: Expected) -> WordAutomaton:
    """What may be heard where this is due: it, and every other call."""
    others = [expect(name, expected.context) for name in CALLS if name != expected.name]
    return situation([expected] if expected.slots else [], others)


def _hear(wav: Path, expected: Expected, model: Path | None) -> Heard:
    """What the recogniser hears in the file."""
    from trainer.compose import open_ears
    from trainer.ears.listener import as_block, hear_whole
    from trainer.ears.recogniser import SAMPLE_RATE
    from voices.wav import read_wav

    sound = read_wav(wav, rate=SAMPLE_RATE)
    return hear_whole(as_block(sound.samples), open_ears(model), listening_for(expected))
