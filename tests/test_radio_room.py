"""The room: what is made ahead, once; what distance, late keying and a second carrier do; which stay as long."""

import threading
import zlib

import numpy as np
import pytest

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.radio_room import KEPT, LATE_S, LATE_STATIONS, RadioRoom
from trainer.session.frequency import TOWER
from voices.errors import VoiceError
from voices.radio import NEAR_NM, NORMAL
from voices.sound import Sound, Voice

HERON = "HERON 42"
LATE = "TOPAZ 34"


class CountingSpeaker:
    """A `Speaker` at the boundary: a warble as long as the words would take, and a list of what was asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.took: dict[str, float] = {}
        self.fails = False
        self.may_speak = threading.Event()
        self.may_speak.set()

    def voices(self) -> tuple[str, ...]:
        return ("en-gb-x-rp", "en-us+m1", "en-us+f1", "en-029+m3")

    def speak(self, text: str, voice: Voice) -> Sound:
        self.asked.append(text)
        assert self.may_speak.wait(10)
        if self.fails:
            raise VoiceError("the voice engine failed twice to speak", "see voices.log")
        at = np.arange(round(60.0 * len(text.split()) / voice.words_a_minute * SAMPLE_RATE)) / SAMPLE_RATE
        self.took[text] = len(at) / SAMPLE_RATE
        hz = 500 + 10 * len(voice.name)
        return Sound((0.3 * np.sin(2 * np.pi * hz * at) * np.sin(20 * at)).astype(np.float32), SAMPLE_RATE)

    def close(self) -> None:
        pass


def room_of(speaker: CountingSpeaker, seed: int = 1) -> RadioRoom:
    return RadioRoom(speaker, [HERON, LATE], seed)


def wait_until_made(room: RadioRoom, station: str, words: str) -> None:
    for _ in range(1_000):
        if room.has(station, words):
            return
        threading.Event().wait(0.005)
    raise AssertionError(f"{words} was not made")


def test_what_is_made_ahead_is_not_made_again() -> None:
    speaker = CountingSpeaker()
    room = room_of(speaker)
    room.ahead([(TOWER, "sable two one, roger"), (HERON, "heron four two, initial")])
    wait_until_made(room, HERON, "heron four two, initial")
    assert speaker.asked == ["sable two one, roger", "heron four two, initial"]
    assert room.seconds(TOWER, "sable two one, roger") == room.sound(TOWER, "sable two one, roger").seconds
    assert len(speaker.asked) == 2
    room.close()


def test_who_needs_a_sound_that_is_being_made_waits_for_that_one() -> None:
    speaker = CountingSpeaker()
    room = room_of(speaker)
    speaker.may_speak.clear()
    room.ahead([(TOWER, "sable two one, roger")])
    heard: list[Sound] = []
    waiting = threading.Thread(target=lambda: heard.append(room.sound(TOWER, "sable two one, roger")))
    waiting.start()
    assert not room.has(TOWER, "sable two one, roger")
    speaker.may_speak.set()
    waiting.join(10)
    assert len(heard) == 1
    assert speaker.asked == ["sable two one, roger"]
    room.close()


def test_newer_wishes_take_the_place_of_older_ones() -> None:
    speaker = CountingSpeaker()
    room = room_of(speaker)
    speaker.may_speak.clear()
    room.ahead([(TOWER, "one"), (TOWER, "two"), (TOWER, "three")])
    while speaker.asked != ["one"]:
        threading.Event().wait(0.005)
    room.ahead([(TOWER, "four")])
    speaker.may_speak.set()
    wait_until_made(room, TOWER, "four")
    assert speaker.asked == ["one", "four"]
    room.close()


def test_a_voice_that_fails_ahead_is_told_when_it_is_needed_and_tried_again() -> None:
    speaker = CountingSpeaker()
    room = room_of(speaker)
    speaker.fails = True
    room.ahead([(TOWER, "one")])
    while not speaker.asked:
        threading.Event().wait(0.005)
    with pytest.raises(VoiceError):
        room.sound(TOWER, "one")
    speaker.fails = False
    assert room.sound(TOWER, "one").seconds > 0
    room.close()


def test_only_so_many_sounds_are_kept() -> None:
    speaker = CountingSpeaker()
    room = room_of(speaker)
    for number in range(KEPT + 1):
        room.sound(TOWER, f"number {number}")
    assert not room.has(TOWER, "number 0")
    assert room.has(TOWER, "number 1")


def test_noise_goes_with_the_distance_and_the_length_does_not() -> None:
    room = room_of(CountingSpeaker())
    near = room.sound(HERON, "heron four two, initial")
    room.distance_nm = lambda station: 4 * NEAR_NM if station == HERON else 0.0
    far = room.sound(HERON, "heron four two, initial")
    assert far.seconds == near.seconds

    def floor(sound: Sound) -> float:
        lead = sound.samples[round(0.02 * SAMPLE_RATE) : round(0.07 * SAMPLE_RATE)]
        return float(20 * np.log10(np.sqrt(np.mean(lead.astype(np.float64) ** 2))))

    assert floor(far) - floor(near) == pytest.approx(12.0, abs=2.0)


def test_only_one_who_has_the_habit_loses_his_first_syllable_and_not_always() -> None:
    speaker = CountingSpeaker()
    habits = ((seed, _has_the_habit(LATE, seed), _has_the_habit(HERON, seed)) for seed in range(100))
    seed = next(seed for seed, late, heron in habits if late and not heron)

    def lost(station: str) -> list[float]:
        room = room_of(speaker, seed)
        words = [f"{number} mile initial runway three one" for number in range(40)]
        heard = [room.seconds(station, text) for text in words]
        edges = NORMAL.lead_s + NORMAL.tail_s
        return [speaker.took[text] + edges - length for text, length in zip(words, heard, strict=True)]

    assert max(lost(TOWER)) < 0.01
    assert max(lost(HERON)) < 0.01
    late = [seconds for seconds in lost(LATE) if seconds > 0.05]
    assert 4 <= len(late) <= 25
    assert max(late) <= LATE_S[1] + 0.03


def _has_the_habit(station: str, seed: int) -> bool:
    return zlib.crc32(f"{seed}/{station}".encode()) / 2**32 < LATE_STATIONS


def test_a_blocked_transmission_takes_as_long_and_has_a_tone_over_it() -> None:
    room = room_of(CountingSpeaker())
    room.sound(TOWER, "sable two one, runway three one, overhead approved, report three mile initial")
    plain = room.sound(HERON, "heron four two, three mile initial")
    two = room.sound(HERON, "heron four two, three mile initial", is_blocked=True)
    assert two.seconds == plain.seconds

    def loudest_hz(sound: Sound) -> float:
        samples = sound.samples * np.hanning(len(sound.samples))
        return float(np.argmax(np.abs(np.fft.rfft(samples)))) / sound.seconds

    assert abs(loudest_hz(two) - loudest_hz(plain)) > 5
    assert 450 <= loudest_hz(two) <= 1_100
