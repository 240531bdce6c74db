"""The speaker and those behind him: by levels, with made-up words, and in the sound of voices."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from phraseology.heard import HeardWord
from trainer.ears.endpoint import CHUNK, EndOfSpeech, KeyOff, KeyOn
from trainer.ears.foreground import FRAME, Levels, Nearness, is_behind, level_db
from trainer.ears.recogniser import SAMPLE_RATE, Block

Speak = Callable[[str, str], Block]
CROWD = (
    "heron three four extend downwind for traffic on a two mile final",
    "marten four seven going around",
    "corbel tower topaz eight six five mile initial full stop",
    "adze five zero breaking out report weir",
    "runway three one wind calm cleared touch and go",
)
"""Words that the recogniser knows: other talk it passes over anyway."""


@pytest.mark.parametrize(
    ("level", "voice", "room", "behind"),
    [
        (-30.0, -20.0, -32.0, True),
        (-30.0, -20.0, -60.0, False),  # a soft word in a quiet room
        (-26.0, -20.0, -28.0, False),  # nearly as loud as the voice
        (-24.0, -20.0, -40.0, False),
    ],
)
def test_behind_is_faint_beside_the_voice_and_no_louder_than_the_room(
    level: float, voice: float, room: float, *, behind: bool
) -> None:
    assert is_behind(level, voice, room) is behind


def test_level() -> None:
    wave = np.rint(1000 * np.sqrt(2) * np.sin(np.arange(1600) * 2 * np.pi / 16))
    assert level_db(wave.astype(np.int16)) == pytest.approx(60.0, abs=0.01)
    assert level_db(np.zeros(10, np.int16)) == 0.0


def heard(levels: list[int], room: int, block: int = 700, confidence: float = 0.8) -> list[int]:
    """Words of 0.3 s at these levels in dB, 0.1 s of the room between them: the places of those that are left."""
    random = np.random.default_rng(3)

    def sound(db: float, seconds: float) -> Block:
        count = round(seconds * SAMPLE_RATE)
        return np.rint(10 ** (db / 20) * random.standard_normal(count)).astype(np.int16)

    stream = np.concatenate(
        [sound(room, 0.1), *(s for db in levels for s in (sound(db, 0.3), sound(room, 0.1)))]
    )
    words = [HeardWord(str(n), confidence, 0.1 + 0.4 * n, 0.4 + 0.4 * n) for n in range(len(levels))]
    meter = Levels()
    for start in range(0, len(stream), block):
        meter.feed(stream[start : start + block])
    return [int(word.text) for word in meter.of_the_speaker(words)]


def test_words_of_others_go_from_both_ends() -> None:
    assert heard([42, 60, 58, 61, 40, 43], room=40) == [1, 2, 3]


def test_a_soft_end_in_a_quiet_room_stays() -> None:
    assert heard([60, 58, 61, 45, 43], room=10) == [0, 1, 2, 3, 4]


def test_a_certain_word_stays() -> None:
    assert heard([42, 60, 61], room=40, confidence=0.995) == [0, 1, 2]


def test_between_the_speakers_words_nothing_goes() -> None:
    assert heard([60, 42, 61], room=40) == [0, 1, 2]


@pytest.mark.parametrize("levels", [[], [42], [42, 41, 43]])
def test_who_speaks_alone_is_the_speaker(levels: list[int]) -> None:
    assert heard(levels, room=40) == list(range(len(levels)))


def test_blocks_of_any_length_are_the_same() -> None:
    assert heard([42, 60, 61], 40, block=1) == heard([42, 60, 61], 40, block=FRAME) == [1, 2]


def test_words_beyond_the_sound_do_no_harm() -> None:
    meter = Levels()
    meter.feed(np.ones(10 * FRAME, np.int16))
    words = [HeardWord("a", 1.0, 0.0, 0.1), HeardWord("b", 1.0, 7.0, 9.0)]
    assert meter.of_the_speaker(words) == tuple(words)


def chunk(amplitude: int) -> Block:
    return np.tile([amplitude, -amplitude], CHUNK // 2).astype(np.int16)


@pytest.mark.parametrize("talk", [True, False])
def test_near_is_whoever_is_louder_than_the_talk_behind(*, talk: bool) -> None:
    near = Nearness()
    for _ in range(40):
        assert near.hears(chunk(100), voiced=talk, speaking=False), "nobody has spoken yet"
    near.opens()
    assert near.hears(chunk(5000), voiced=True, speaking=True)
    assert near.hears(chunk(100), voiced=True, speaking=True) is not talk
    assert near.heard(2)
    assert near.heard(1) is not talk


def test_the_voice_is_still_known_before_the_next_transmission() -> None:
    near = Nearness()
    for loud in (100, 100, 5000, 5000, 5000, 100, 100):
        near.hears(chunk(loud), voiced=True, speaking=loud == 5000)
    assert not near.hears(chunk(100), voiced=True, speaking=False)
    near.opens()
    assert not near.hears(chunk(100), voiced=True, speaking=True)
    near.opens()
    assert near.hears(chunk(100), voiced=True, speaking=True), "of nobody is known how loud he is"


def behind(call: Block, speak: Speak, ratio_db: float, after_s: float) -> Block:
    """The call with five people talking behind it, and on for `after_s`."""
    whole = np.concatenate([call, np.zeros(round(after_s * SAMPLE_RATE), np.int16)]).astype(np.float64)
    crowd = np.zeros(len(whole))
    for place, text in enumerate(CROWD):
        voice = speak(text, "en-us" if place % 2 else "en-gb+f3").astype(np.float64)
        crowd += np.resize(np.roll(voice, 7000 * place), len(whole))
    loud = np.abs(call) > 500
    level = np.sqrt(np.mean(call[loud].astype(np.float64) ** 2)) * 10 ** (-ratio_db / 20)
    return np.clip(whole + crowd * level / np.sqrt(np.mean(crowd**2)), -32768, 32767).astype(np.int16)


def test_a_call_ends_while_others_talk_on(speak: Speak) -> None:
    call = speak("sable two one request closed", "en-us")
    over = (len(call) - 8000) / SAMPLE_RATE
    stream = behind(call, speak, 15.0, 6.0)
    detector = EndOfSpeech()
    parts = [
        p for start in range(0, len(stream), CHUNK) for p in detector.feed(stream[start : start + CHUNK])
    ]
    ends = [part.at for part in parts if isinstance(part, KeyOff)]
    assert any(over < end < over + 1.5 for end in ends), ends
    begins = [part.at for part in parts if isinstance(part, KeyOn)]
    assert all(a < b for a, b in pairwise(begins))
