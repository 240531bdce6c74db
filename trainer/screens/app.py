"""The application: the clock on the wall drives the session, what happened goes to the screen."""

import asyncio
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.message import Message

from trainer.live.hearing import EarsEvent
from trainer.live.session import LiveSession
from trainer.screens.debrief_screen import DebriefScreen
from trainer.screens.flight_screen import FlightScreen
from trainer.screens.themes import DAY, EVENING
from trainer.session.events import Event

TICK_S = 0.1


class FlightApp(App[None]):
    """`clock` gives seconds; None: nothing ticks but by `advance`."""

    CSS_PATH = Path(__file__).with_name("flight.tcss")
    TITLE = "patternvoice"
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012 - Textual's own form
    VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "leave", "Quit", key_display="^q", priority=True),
        Binding("ctrl+c", "leave", "Quit", show=False, priority=True),
    ]

    class EarsHeard(Message):
        """The microphone's thread has something to tell."""

        def __init__(self, event: EarsEvent) -> None:
            super().__init__()
            self.event = event

    def __init__(self, live: LiveSession, clock: Callable[[], float] | None = time.monotonic) -> None:
        super().__init__()
        self._live = live
        self._clock = clock
        self._last = 0.0
        self._flight = FlightScreen(live)

    def on_mount(self) -> None:
        for theme in (EVENING, DAY):
            self.register_theme(theme)
        self.theme = EVENING.name
        self.push_screen(self._flight)
        # Not everywhere (Windows) can a signal be handled in the loop; there Ctrl-C is a key.
        with suppress(NotImplementedError, AttributeError, RuntimeError, ValueError):
            for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
                asyncio.get_running_loop().add_signal_handler(number, self.action_leave)
        if self._live.hearing is not None:
            self._live.hearing.start()
        if self._clock is not None:
            self._last = self._clock()
            self.set_interval(TICK_S, self._tick)

    def post_ears(self, event: EarsEvent) -> None:
        """Take an event of the ears; safe to call from any thread."""
        self.post_message(self.EarsHeard(event))

    def advance(self, wall_seconds: float) -> None:
        """So much has passed on the wall."""
        self.took_place(self._live.tick(wall_seconds))

    def _tick(self) -> None:
        assert self._clock is not None  # only then is there a timer
        now = self._clock()
        passed, self._last = now - self._last, now
        self.advance(passed)

    def took_place(self, events: list[Event]) -> None:
        """Show what happened, all of which is in the logbook already, and the session as it is now."""
        while self._live.notices:
            self.notify(self._live.notices.popleft(), timeout=12, markup=False)
        if not self._flight.is_mounted:
            return
        self._flight.show(events)
        ended = self._live.session.ended
        if ended is not None and self.screen is self._flight:
            self.push_screen(DebriefScreen(self._live, ended))

    def action_leave(self) -> None:
        """End the session in order and go; asks nothing."""
        self._live.leave()
        self.exit()

    def action_light(self) -> None:
        self.theme = DAY.name if self.theme == EVENING.name else EVENING.name

    def on_flight_app_ears_heard(self, message: EarsHeard) -> None:
        self.took_place(self._live.hear(message.event))

    def on_flight_screen_talked(self, message: FlightScreen.Talked) -> None:
        if message.down:
            self._live.press()
        else:
            self._live.release()
        self.took_place([])

    def on_flight_screen_typed(self, message: FlightScreen.Typed) -> None:
        self.took_place(self._live.typed(message.line))

    def on_flight_screen_typing_changed(self, message: FlightScreen.TypingChanged) -> None:
        self._live.typing = message.typing

    def on_flight_screen_pause_toggled(self) -> None:
        self._live.paused = not self._live.paused
        self.took_place([])

    def on_flight_screen_passed(self) -> None:
        self._live.let_pass()
        self.took_place([])
