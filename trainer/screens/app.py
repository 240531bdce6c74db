"""The application: the clock on the wall drives the session, what happened goes to the screen.

A screen is imported when it is first shown: before the flight only the start screen has to be there.
"""

import asyncio
import os
import signal
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.filter import LineFilter
from textual.message import Message
from textual.timer import Timer

from trainer.memory import settle
from trainer.screens.ascii_only import AsciiOnly, speaks_unicode
from trainer.screens.themes import DAY, EVENING

if TYPE_CHECKING:
    from trainer.live.afterwards import LookBack
    from trainer.live.hearing import EarsEvent
    from trainer.live.session import LiveSession
    from trainer.screens.debrief_screen import DebriefScreen
    from trainer.screens.flight_screen import FlightScreen
    from trainer.session.events import Event

TICK_S = 0.1
RESTING_TICK_S = 0.5
"""While the clock stands."""


class FlightApp(App[None]):
    """`clock` gives seconds; None: nothing ticks but by `advance`. `live` None: `begin` will have it."""

    CSS_PATH = Path(__file__).with_name("flight.tcss")
    TITLE = "patternvoice"
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012 - Textual's own form
    VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "leave", "Quit", key_display="^q", priority=True),
        Binding("ctrl+c", "leave", "Quit", show=False, priority=True),
        Binding("ctrl+z", "suspend_process", "To the shell", show=False, priority=True),
    ]

    class EarsHeard(Message):
        """The microphone's thread has something to tell."""

        def __init__(self, event: "EarsEvent") -> None:
            super().__init__()
            self.event = event

    HAS_START: ClassVar = False
    """There is a screen before the flight, to which one can go back for another."""

    _live: "LiveSession"
    _flight: "FlightScreen"
    _ticking: Timer | None = None

    def __init__(
        self, live: "LiveSession | None", clock: Callable[[], float] | None = time.monotonic
    ) -> None:
        super().__init__()
        self._flies_at_once = live
        self._flying = False
        self._clock = clock
        self._last = 0.0

    def get_line_filters(self) -> Sequence[LineFilter]:
        """What every line passes on its way to the terminal."""
        plain = () if speaks_unicode(os.environ) else (AsciiOnly(),)
        return [*super().get_line_filters(), *plain]

    def on_mount(self) -> None:
        for theme in (EVENING, DAY):
            self.register_theme(theme)
        self.theme = EVENING.name
        # Not everywhere (Windows) can a signal be handled in the loop; there Ctrl-C is a key.
        with suppress(NotImplementedError, AttributeError, RuntimeError, ValueError):
            for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
                asyncio.get_running_loop().add_signal_handler(number, self.action_leave)
        if sys.stdin is not None and sys.stdin.isatty():
            self.set_interval(1.0, self._leave_without_a_terminal)
        if self._flies_at_once is not None:
            self.begin(self._flies_at_once)

    def _leave_without_a_terminal(self) -> None:
        """Not everyone whose terminal goes is told by a signal; nobody sees the rest, and to read on takes a
        whole core."""
        if not sys.stdin.isatty():
            self.action_leave()

    def begin(self, live: "LiveSession") -> None:
        """Fly this session from now on."""
        from trainer.screens.flight_screen import FlightScreen

        self._live = live
        self._flying = True
        self._flight = FlightScreen(live)
        self.push_screen(self._flight)
        if live.hearing is not None:
            live.hearing.start()
        if self._clock is not None:
            self._last = self._clock()
            self._ticking = self.set_interval(TICK_S, self._tick)
            self.call_after_refresh(settle)

    def land(self) -> None:
        """No session is flown from now on; what was shown of it goes."""
        if self._ticking is not None:
            self._ticking.stop()
        self._flying = False
        while self.screen is not self._flight:
            self.pop_screen()
        self.pop_screen()

    def post_ears(self, event: "EarsEvent") -> None:
        """Take an event of the ears; safe to call from any thread."""
        self.post_message(self.EarsHeard(event))

    def advance(self, wall_seconds: float) -> None:
        """So much has passed on the wall."""
        self.took_place(self._live.tick(wall_seconds))

    def _tick(self) -> None:
        assert self._clock is not None  # only then is there a timer
        if not self._live.paused or self._clock() - self._last >= RESTING_TICK_S:
            self._pass_time()

    def _pass_time(self) -> None:
        """Bring the session up to now."""
        if self._clock is not None:
            now = self._clock()
            passed, self._last = now - self._last, now
            self.advance(passed)

    def took_place(self, events: "list[Event]") -> None:
        """Show what happened, all of which is in the logbook already, and the session as it is now."""
        while self._live.notices:
            self.notify(self._live.notices.popleft(), timeout=12, markup=False)
        if not self._flight.is_mounted:
            return
        self._flight.show(events)
        ended = self._live.session.ended
        if ended is not None and self.screen is self._flight:
            from trainer.screens.debrief_screen import DebriefScreen

            self.push_screen(DebriefScreen(self._live, ended, another=self.HAS_START))

    def action_leave(self) -> None:
        """End the session in order and go; asks nothing."""
        # A terminal that goes at this moment sends "continue", on which Textual would start reading it anew.
        with suppress(AttributeError, ValueError):
            signal.signal(signal.SIGCONT, signal.SIG_DFL)
        if self._flying:
            self._live.leave()
        self.exit()

    def action_light(self) -> None:
        self.theme = DAY.name if self.theme == EVENING.name else EVENING.name

    def on_flight_app_ears_heard(self, message: EarsHeard) -> None:
        if not self._flying:
            return  # of a flight that is over
        from trainer.live.hearing import TraineeSaid

        if self._live.paused:
            self._pass_time()  # if this ends the pause, what has passed was still in it
        self.took_place(self._live.hear(message.event))
        if isinstance(message.event, TraineeSaid):
            self._pass_time()  # the answer may be due at once

    def on_flight_screen_talked(self, message: "FlightScreen.Talked") -> None:
        if message.down:
            self._live.press()
        else:
            self._live.release()
        self.took_place([])

    def on_flight_screen_typed(self, message: "FlightScreen.Typed") -> None:
        if self._live.paused:
            self._pass_time()
        self.took_place(self._live.typed(message.line))

    def on_flight_screen_typing_changed(self, message: "FlightScreen.TypingChanged") -> None:
        self._live.typing = message.typing

    def on_flight_screen_pause_toggled(self) -> None:
        self._pass_time()
        self._live.paused = not self._live.paused
        self.took_place([])

    def on_flight_screen_passed(self) -> None:
        self._live.let_pass()
        self.took_place([])

    def on_debrief_screen_sound_wanted(self, message: "DebriefScreen.SoundWanted") -> None:
        from trainer.live.replay import play_mine, play_model

        lack = (play_model if message.model else play_mine)(self._live, message.number)
        if lack:
            self.notify(lack, timeout=4, markup=False)

    def on_debrief_screen_silence_wanted(self) -> None:
        self._live.sounds.stop()

    def on_debrief_screen_progress_wanted(self) -> None:
        from trainer.live.afterwards import look_back

        self.show_progress(look_back(self._live.book.logbook, datetime.now().astimezone()))

    def show_progress(self, found: "LookBack | str") -> None:
        """All sessions, or the sentence that says why not."""
        from trainer.screens.progress_screen import ProgressScreen

        if isinstance(found, str):
            self.notify(found, timeout=6, markup=False)
        else:
            self.push_screen(ProgressScreen(found.progress, found.due))

    def on_debrief_screen_export_wanted(self) -> None:
        self.notify("Writing the page of this session", timeout=3)
        self.run_worker(self._export, thread=True, exclusive=True)

    def _export(self) -> None:
        from trainer.live.afterwards import export

        self.call_from_thread(self.notify, export(self._live), timeout=12, markup=False)
