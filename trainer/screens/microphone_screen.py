"""Ten seconds with the microphone, and a word from the tower to check the voice."""

from collections.abc import Callable
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import ProgressBar, Static
from textual.worker import get_current_worker

from trainer.ears.calibration import CALIBRATION_S
from trainer.microphone_check import TO_READ
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import MICROPHONE


class MicrophoneScreen(ModalScreen[str]):
    """`measure` records and judges, in a thread, until it is done or is told that it is no longer wanted;
    what it says in words is the result of the screen."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,q", "close", "Close"),
        Binding("f1,question_mark", "help", "Help"),
    ]
    TICK_S = 0.25

    def __init__(self, measure: Callable[[Callable[[], bool]], str]) -> None:
        super().__init__()
        self._measure = measure
        self._said = ""

    def compose(self) -> ComposeResult:
        with Vertical(id="measuring"):
            yield Static("Read aloud, as on the air, with pauses:", classes="head", markup=False)
            yield Static("\n".join(TO_READ), id="to-read", markup=False)
            yield ProgressBar(total=CALIBRATION_S, show_eta=False, show_percentage=False, id="seconds")
            yield Static("Listening ...", id="found", markup=False)

    def on_mount(self) -> None:
        self.set_interval(self.TICK_S, lambda: self.query_one(ProgressBar).advance(self.TICK_S))
        self._run()

    @work(thread=True)
    def _run(self) -> None:
        worker = get_current_worker()
        said = self._measure(lambda: worker.is_cancelled)
        if not worker.is_cancelled:
            self.app.call_from_thread(self._found, said)

    def _found(self, said: str) -> None:
        self._said = said
        self.query_one("#found", Static).update(f"{said}\nEnter or a click goes back.")

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(MICROPHONE))

    def on_click(self) -> None:
        self.action_close()

    def action_close(self) -> None:
        """Only when it has been measured: the microphone is in use until then."""
        if self._said:
            self.dismiss(self._said)
