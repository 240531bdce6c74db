"""The application with a start screen before the flight, and again after it."""

import time
from collections.abc import Callable
from datetime import datetime
from importlib import import_module
from typing import TYPE_CHECKING, ClassVar

from trainer.errors import KNOWN_ERRORS
from trainer.screens.app import FlightApp
from trainer.screens.start_screen import StartScreen

if TYPE_CHECKING:
    from trainer.live.front_desk import FrontDesk
    from trainer.screens.drills_screen import DrillsScreen


class StartApp(FlightApp):
    """`desk` answers what the screens ask."""

    HAS_START: ClassVar = True

    def __init__(self, desk: "FrontDesk", clock: Callable[[], float] | None = time.monotonic) -> None:
        super().__init__(None, clock)
        self._desk = desk
        self._start = StartScreen(desk.choosing, first_time=desk.first_time)

    def on_mount(self) -> None:
        self.push_screen(self._start)  # after the themes of the base, whose handler runs first
        self.call_after_refresh(lambda: self.run_worker(self._get_ready, thread=True))

    def _get_ready(self) -> None:
        """What was not needed for the first screen, while that is read."""
        self.call_later(self._start.measured, self._desk.microphone_in_words())
        self._desk.get_ready()
        import_module("trainer.screens.flight_screen")

    def on_start_screen_begun(self) -> None:
        self._start.wait("Getting ready ...")
        self.call_after_refresh(self._open)

    def _open(self) -> None:
        try:
            live = self._desk.open(self.post_ears)
        except KNOWN_ERRORS as error:
            self._start.failed(" ".join(str(error).split()))
            return
        self.begin(live)

    def on_debrief_screen_another_wanted(self) -> None:
        self.land()
        self._desk.close_flight()
        self._start.show()

    def on_start_screen_progress_wanted(self) -> None:
        self.show_progress(self._desk.look_back(datetime.now().astimezone()))

    def on_start_screen_drills_wanted(self) -> None:
        from trainer.screens.drills_screen import DrillsScreen

        self.push_screen(
            DrillsScreen(self._desk.shelf(), self._desk.choosing.choice.drill, self._desk.verdict)
        )

    def on_drills_screen_chosen(self, message: "DrillsScreen.Chosen") -> None:
        self._desk.choosing.take("drill", message.name)
        self.pop_screen()
        self._start.show()

    def on_start_screen_field_wanted(self) -> None:
        from trainer.screens.field_screen import FieldScreen

        field = self._desk.choosing.field
        if field is not None:
            self.push_screen(FieldScreen(field, self._desk.choosing.choice.aircraft))

    def on_start_screen_microphone_wanted(self) -> None:
        from trainer.screens.microphone_screen import MicrophoneScreen

        self.push_screen(MicrophoneScreen(self._desk.measure), self._measured)

    def _measured(self, words: str | None) -> None:
        if words:
            self._start.measured(words)
