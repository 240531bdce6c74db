"""Sound in a live session: headphones, voices made ahead, no device at all, one that goes and comes back."""

import importlib.abc
import sys
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from phraseology.heard import Heard
from trainer.live.book import FlightBook
from trainer.live.hearing import TraineeKeyed, TraineeSaid
from trainer.live.session import TOGETHER_S, LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.start import _open_sounds, plan_of
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Logbook
from trainer.radio_room import RadioRoom
from trainer.session.events import Event, OtherSpoke, TowerSpoke, TraineeSpoke
from trainer.session.frequency import TOWER
from voices.errors import VoiceError
from voices.playback import SilentPlayer
from voices.returning import BACK, ReturningPlayer
from voices.sound import Sound, Voice
from voices.wav import read_wav

SOUND = np.full(1600, 1000, np.int16)


class Tone:
    """A `Speaker` at the boundary: a tone as long as the words would take."""

    def voices(self) -> tuple[str, ...]:
        return ("en-gb-x-rp", "en-us+m1", "en-us+f1", "en-029+m3")

    def speak(self, text: str, voice: Voice) -> Sound:
        times = np.arange(round(60.0 * len(text.split()) / voice.words_a_minute * 16_000)) / 16_000
        return Sound((0.2 * np.sin(2 * np.pi * 400 * times)).astype(np.float32), 16_000)

    def close(self) -> None:
        pass


class Headset(SilentPlayer):
    """A player at the boundary that can be unplugged. A test gives the clock."""

    def __init__(self, clock: Callable[[], float]) -> None:
        super().__init__(clock)
        self.played: list[Sound] = []
        self.unplugged = False

    @property
    def lost(self) -> str | None:
        return "the sound output has gone" if self.unplugged else None

    def play(self, sound: Sound) -> None:
        assert not self.unplugged
        self.played.append(sound)
        super().play(sound)


class Flight:
    """A live session whose wall clock only a test moves. It has a recording."""

    def __init__(self, folder: Path, sounds: Callable[["Flight"], FrequencySound], **how: Any) -> None:
        self.plan, _ = plan_of("first_flight", None, "corbel", "31", seed=1)
        self.seconds = 0.0
        self.notices: deque[str] = deque()
        self.logbook = Logbook.open(folder)
        self.tape = SessionRecording(folder / "tape.wav")
        number = self.logbook.start_session({}, "2025-01-31T18:00:00")
        book = FlightBook(self.logbook, number, self.tape, self.notices.append)
        self.live = LiveSession(self.plan, "real", sounds(self), book, self.notices, "typed", **how)

    def room(self) -> RadioRoom:
        return RadioRoom(Tone(), self.plan.stations, 1)

    def until(self, kind: type[Event] | None, there: Callable[[], bool] = lambda: True) -> list[Event]:
        """Until such an event has come (None: none), and something is so; what happened."""
        events: list[Event] = []
        for _ in range(20_000):
            if (kind is None or any(isinstance(event, kind) for event in events)) and there():
                return events
            self.seconds += 0.1
            events += self.live.tick(0.1)
        raise AssertionError(f"it did not come, but {events}")

    def passes(self, seconds: float) -> list[Event]:
        """So much time passes, in ticks; what happened."""
        events: list[Event] = []
        for _ in range(round(seconds / 0.1)):
            self.seconds += 0.1
            events += self.live.tick(0.1)
        return events

    def until_due(self) -> str:
        session = self.live.session
        self.until(None, lambda: session.prompt is not None and not session.on_air and not self.live.muted)
        assert session.prompt is not None
        return session.prompt.model_call

    def close(self) -> None:
        self.live.close()
        self.logbook.close()


def silent(flight: Flight) -> FrequencySound:
    player = SilentPlayer(lambda: flight.seconds)
    return FrequencySound(flight.room(), player, flight.notices.append)


def test_with_headphones_the_microphone_stays_open_and_a_call_over_another_is_one(tmp_path: Path) -> None:
    flight = Flight(tmp_path, silent, headphones=True)
    (other,) = (event for event in flight.until(OtherSpoke) if isinstance(event, OtherSpoke))
    assert flight.live.sounds.speaking == other.aircraft
    assert not flight.live.muted
    flight.passes(TOGETHER_S + 0.1)
    flight.live.hear(TraineeKeyed())
    (said,) = flight.live.hear(TraineeSaid(Heard.typed("corbel tower sable two one radio check"), SOUND))
    assert isinstance(said, TraineeSpoke)
    assert f"over {other.aircraft}" in [fault.heard for fault in said.assessment.faults]
    flight.close()


def test_without_headphones_nothing_is_heard_while_another_speaks(tmp_path: Path) -> None:
    flight = Flight(tmp_path, silent)
    flight.until(OtherSpoke)
    assert flight.live.muted
    flight.passes(TOGETHER_S + 0.1)
    flight.live.hear(TraineeKeyed())
    assert flight.live.hear(TraineeSaid(Heard.typed("sable two one radio check"), SOUND)) == []
    flight.close()


@pytest.mark.parametrize("headphones", [True, False])
def test_who_began_in_the_same_moment_lets_the_trainee_speak_and_says_it_after_him(
    tmp_path: Path, headphones: bool
) -> None:
    flight = Flight(tmp_path, silent, headphones=headphones)
    (other,) = (event for event in flight.until(OtherSpoke) if isinstance(event, OtherSpoke))
    flight.live.hear(TraineeKeyed())
    assert flight.live.sounds.speaking is None
    assert flight.live.keyed
    flight.passes(2.0)
    (said,) = flight.live.hear(TraineeSaid(Heard.typed("corbel tower sable two one radio check"), SOUND))
    assert isinstance(said, TraineeSpoke)
    assert "timing" not in [fault.element for fault in said.assessment.faults]
    (again,) = (event for event in flight.until(OtherSpoke) if isinstance(event, OtherSpoke))
    assert again.words == other.words
    flight.live.hear(TraineeKeyed())  # a second time it is rather the loudspeaker, or one who does not listen
    assert flight.live.sounds.speaking == other.aircraft
    flight.close()


def test_who_answers_what_he_has_heard_to_its_end_steps_on_nobody(tmp_path: Path) -> None:
    """On a machine that was busy for long the session's clock is behind the sound."""
    flight = Flight(tmp_path, silent)
    call = flight.until_due()
    flight.live.hear(TraineeKeyed())
    flight.live.hear(TraineeSaid(Heard.typed(call), SOUND))
    flight.until(TowerSpoke)
    flight.seconds += 20.0
    flight.live.tick(20.0)
    flight.passes(0.3)
    flight.live.hear(TraineeKeyed())
    owed = flight.live.session.trainee.owed
    assert owed is not None
    (said,) = flight.live.hear(TraineeSaid(Heard.typed(owed.expected.model_call), SOUND))
    assert isinstance(said, TraineeSpoke)
    assert said.assessment.accepted
    flight.close()


class Card(Headset):
    """What is played is heard so much later."""

    lead_s = 0.4


def through_a_card(flight: Flight) -> FrequencySound:
    return FrequencySound(flight.room(), Card(lambda: flight.seconds), flight.notices.append)


def test_the_microphone_is_open_until_the_other_can_be_heard(tmp_path: Path) -> None:
    flight = Flight(tmp_path, through_a_card)
    flight.until(OtherSpoke)
    assert not flight.live.muted
    flight.passes(0.2)
    assert not flight.live.muted
    flight.passes(0.3)
    assert flight.live.muted
    flight.close()


def test_a_loudspeaker_that_is_heard_sooner_than_it_is_said_to_be_is_not_waited_for_again(
    tmp_path: Path,
) -> None:
    flight = Flight(tmp_path, through_a_card)
    flight.until(OtherSpoke)
    flight.live.hear(TraineeKeyed())
    flight.live.hear(TraineeSaid(Heard(), SOUND))  # its own voice: no words of the trade in so short a piece
    flight.until(OtherSpoke)
    assert flight.live.muted
    flight.close()


def test_the_reply_is_made_while_the_trainee_speaks(tmp_path: Path) -> None:
    wished: list[tuple[str, str]] = []

    class NotingRoom(RadioRoom):
        def ahead(self, likely: Iterable[tuple[str, str]]) -> None:
            wished[:] = likely
            super().ahead(wished)

    def noting(flight: Flight) -> FrequencySound:
        room = NotingRoom(Tone(), flight.plan.stations, 1)
        return FrequencySound(room, SilentPlayer(lambda: flight.seconds), flight.notices.append)

    flight = Flight(tmp_path, noting)
    call = flight.until_due()
    flight.live.hear(TraineeKeyed())
    while_he_speaks = list(wished)
    flight.live.hear(TraineeSaid(Heard.typed(call), SOUND, 0.35))
    (reply,) = ((who, words) for who, words in flight.live.session.waiting_words() if who == TOWER)
    assert reply in while_he_speaks
    flight.close()


class NoPortAudio(importlib.abc.MetaPathFinder):
    """Python's side of a system without PortAudio."""

    def find_spec(self, name: str, path: Sequence[str] | None, target: object = None) -> None:
        if name == "sounddevice":
            raise OSError("PortAudio library not found")


def test_without_a_sound_device_the_recording_is_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPortAudio(), *sys.meta_path])
    with ExitStack() as stack:

        def as_fly_does(flight: Flight) -> FrequencySound:
            return _open_sounds(stack, flight.plan, 1, True, flight.notices, "normal")

        flight = Flight(tmp_path, as_fly_does)
        flight.live.typed(flight.until_due())
        events = flight.until(TowerSpoke)
        spoken_at = next(event.at for event in events if isinstance(event, TowerSpoke))
        flight.close()
    assert len(flight.notices) == 1
    assert "apt install libportaudio2" in flight.notices[0]
    sound = read_wav(tmp_path / "tape.wav")
    assert np.abs(sound.samples[round((spoken_at + 0.2) * sound.rate) :]).max() > 0.1


def test_a_device_that_vanishes_in_mid_sentence_is_told_once_and_plays_when_it_is_back(
    tmp_path: Path,
) -> None:
    headsets: list[Headset] = []
    there = [True]

    def open_headset(flight: Flight) -> Headset:
        if not there[0]:
            raise VoiceError("there is no sound output to play on", "connect headphones")
        headsets.append(Headset(lambda: flight.seconds))
        return headsets[-1]

    def returning(flight: Flight) -> FrequencySound:
        clock = lambda: SilentPlayer(lambda: flight.seconds)  # noqa: E731
        player = ReturningPlayer(
            lambda: open_headset(flight), flight.notices.append, clock, lambda seconds: False
        )
        return FrequencySound(flight.room(), player, flight.notices.append)

    flight = Flight(tmp_path, returning)
    flight.live.typed(flight.until_due())
    flight.until(TowerSpoke)
    assert len(headsets[0].played) >= 1
    there[0], headsets[0].unplugged = False, True
    events = flight.until(None, lambda: flight.live.sounds.speaking is None)
    events += flight.until(None, lambda: not flight.live.session.on_air)
    assert len(flight.notices) == 1
    assert "the sound output has gone: plug it in again. Going on in text" in flight.notices[0]
    there[0] = True
    flight.live.typed(flight.until_due())
    flight.until(OtherSpoke, lambda: len(headsets) > 1 and len(headsets[-1].played) > 0)
    assert list(flight.notices)[1:] == [BACK]
    flight.close()
    assert read_wav(tmp_path / "tape.wav").seconds > 20
