"""The application with a start screen before the flight."""

import time
from collections.abc import Callable

from trainer.errors import KNOWN_ERRORS
from trainer.live.front_desk import FrontDesk
from trainer.screens.app import FlightApp
from trainer.screens.drills_screen import DrillsScreen
from trainer.screens.field_screen import FieldScreen
from trainer.screens.microphone_screen import MicrophoneScreen
from trainer.screens.start_screen import StartScreen


class StartApp(FlightApp):
    """`desk` answers what the screens ask."""

    def __init__(self, desk: FrontDesk, clock: Callable[[], float] | None = time.monotonic) -> None:
        super().__init__(None, clock)
        self._desk = desk
        self._start = StartScreen(
            desk.choosing, first_time=desk.first_time, microphone=desk.microphone_in_words()
        )

    def on_mount(self) -> None:
        self.push_screen(self._start)  # after the themes of the base, whose handler runs first

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

    def on_start_screen_drills_wanted(self) -> None:
        self.push_screen(
            DrillsScreen(self._desk.shelf(), self._desk.choosing.choice.drill, self._desk.verdict)
        )

    def on_drills_screen_chosen(self, message: DrillsScreen.Chosen) -> None:
        self._desk.choosing.take("drill", message.name)
        self.pop_screen()
        self._start.show()

    def on_start_screen_field_wanted(self) -> None:
        field = self._desk.choosing.field
        if field is not None:
            self.push_screen(FieldScreen(field, self._desk.choosing.choice.aircraft))

    def on_start_screen_microphone_wanted(self) -> None:
        self.push_screen(MicrophoneScreen(self._desk.measure), self._measured)

    def _measured(self, words: str | None) -> None:
        if words:
            self._start.measured(words)
