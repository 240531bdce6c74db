"""A flight driven by fixed numbers: no clock, no card, no microphone; voices are tones."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drills.drill import Pace
from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton
from trainer.ears.microphone import BLOCK_SAMPLES, CapturedBlock
from trainer.ears.recogniser import Block
from trainer.live.book import FlightBook
from trainer.live.hearing import Hearing
from trainer.live.session import LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.start import plan_of
from trainer.logbook.store import Logbook
from trainer.radio_room import RadioRoom
from trainer.screens.app import FlightApp
from trainer.session.events import Event
from voices.playback import SilentPlayer
from voices.sound import Sound, Voice

NO_MICROPHONE = "started without sound"
PART_S = 0.1
WRONG_GEAR_REPORT = "sable two one, gear down, full stop"


class ToneSpeaker:
    """A `Speaker` at the boundary: it gives a tone as long as the words would take."""

    def voices(self) -> tuple[str, ...]:
        return ("en-gb-x-rp", "en-us+m1", "en-us+f1", "en-029+m3")

    def speak(self, text: str, voice: Voice) -> Sound:
        seconds = 60.0 * len(text.split()) / voice.words_a_minute
        times = np.arange(round(seconds * 16_000)) / 16_000
        return Sound((0.2 * np.sin(2 * np.pi * 400 * times)).astype(np.float32), 16_000)

    def close(self) -> None:
        pass


class WallClock:
    """A clock that stands still until it is set forward."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def __call__(self) -> float:
        return self.seconds


class RoomTone:
    """A `Microphone` at the boundary: low noise for ever, and nothing that waits."""

    dropped = 0

    def __init__(self) -> None:
        self._noise = np.random.default_rng(1)

    def start(self) -> None:
        pass

    def read(self, timeout: float) -> CapturedBlock | None:
        if timeout == 0.0:
            return None
        return CapturedBlock(self._noise.normal(0, 20, BLOCK_SAMPLES).astype(np.int16), 0.0)

    def stop(self) -> None:
        pass


class OneWord:
    """A `Recogniser` at the boundary: it hears "roger" in whatever it is given."""

    name = "one word"

    def __init__(self) -> None:
        self.samples = 0

    def missing_words(self, words: Iterable[str]) -> list[str]:
        return []

    def listen_for(self, situation: WordAutomaton) -> None:
        assert situation.words  # a graph of something

    def key_on(self) -> None:
        self.samples = 0

    def block(self, samples: Block) -> None:
        self.samples += len(samples)

    def partial(self) -> str:
        return "roger" if self.samples else ""

    def key_off(self) -> Heard:
        return Heard.typed("roger")


class Flown:
    """A live session, its clock, and what it takes to fly it on without a screen."""

    def __init__(self, live: LiveSession, clock: WallClock, logbook: Logbook) -> None:
        self.live = live
        self.clock = clock
        self.logbook = logbook

    def grow_ears(self, app: FlightApp | None) -> tuple[Hearing, OneWord]:
        """Ears whose thread does not run: `Hearing.listen` takes one block. After the app has begun."""
        ears = OneWord()
        post = app.post_ears if app else lambda _: None
        self.live.hearing = Hearing(
            RoomTone(), ears, lambda: self.live.situation, lambda: self.live.muted, post
        )
        self.live.no_microphone = None
        return self.live.hearing, ears

    def close(self) -> None:
        self.live.close()
        self.logbook.close()

    def step(self, advance: Callable[[float], object] | None = None) -> None:
        """A tenth of a second on the wall."""
        self.clock.seconds += PART_S
        (advance or self.live.tick)(PART_S)

    def until(self, reached: Callable[[], bool], advance: Callable[[float], object] | None = None) -> None:
        """Let wall time go on until something is so."""
        for _ in range(40_000):
            if reached() or self.live.session.ended:
                return
            self.step(advance)
        raise AssertionError("an hour and more has passed on the wall, and it has not come to pass")

    def until_due(self, advance: Callable[[float], object] | None = None) -> str:
        """Let time go on until the trainee has to say something and the air is free; the model call."""
        session = self.live.session
        self.until(lambda: session.prompt is not None and not session.on_air, advance)
        return session.prompt.model_call if session.prompt else ""

    def into_the_turn(self, app: FlightApp) -> None:
        """To the tower's landing clearance, with all calls by the book but the gear report's intention.

        What happened is drawn at the end, at once.
        """
        events: list[Event] = []
        quietly = lambda wall_seconds: events.extend(self.live.tick(wall_seconds))  # noqa: E731
        for number in range(1, 7):
            model_call = self.until_due(quietly)
            if number < 6:
                events += self.live.typed(WRONG_GEAR_REPORT if number == 5 else model_call)
        self.until(lambda: not self.live.muted, quietly)
        app.took_place(events)

    def to_the_end(self, app: FlightApp) -> None:
        """Every call by the book but the gear report of `into_the_turn`."""
        self.into_the_turn(app)
        events: list[Event] = []
        quietly = lambda wall_seconds: events.extend(self.live.tick(wall_seconds))  # noqa: E731
        while self.live.session.ended is None:
            model_call = self.until_due(quietly)
            if self.live.session.ended is None:
                events += self.live.typed(model_call)
        app.took_place(events)


def take_off(folder: Path, drill: str | None = "first_flight", pace: Pace = "quick") -> Flown:
    """A flight whose logbook is in this folder."""
    plan, _ = plan_of(drill, None, "corbel", "31", seed=1)
    clock = WallClock()
    notices: deque[str] = deque()
    logbook = Logbook.open(folder)
    stations = [plan.callsign, *(other.callsign for other in plan.traffic)]
    sounds = FrequencySound(RadioRoom(ToneSpeaker(), stations, 1), SilentPlayer(clock), notices.append)
    meta = {"title": plan.title, "field": plan.field.field, "runway": plan.runway, "callsign": plan.callsign}
    book = FlightBook(logbook, logbook.start_session(meta, "2025-01-31T18:00:00"), None, notices.append)
    return Flown(LiveSession(plan, pace, sounds, book, notices, NO_MICROPHONE), clock, logbook)


@pytest.fixture
def flown(tmp_path: Path) -> Iterator[Callable[..., Flown]]:
    """Makes flights: `flown(drill, pace)`."""
    opened: list[Flown] = []

    def make(*how: Any, **more: Any) -> Flown:
        opened.append(take_off(tmp_path, *how, **more))
        return opened[-1]

    yield make
    for flight in opened:
        flight.close()
