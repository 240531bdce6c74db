"""One short overlay of help for each screen: its keys and what its signs mean."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

HelpLines = tuple[tuple[str, str], ...]
"""Key or sign, and what it does or means; an empty first part makes a heading."""


class HelpOverlay(ModalScreen[None]):
    """Any of the keys that a person tries closes it, and so does a click."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space,q,f1,question_mark", "dismiss", "Close"),
    ]
    AUTO_FOCUS = "#help"

    def __init__(self, lines: HelpLines) -> None:
        super().__init__()
        self._lines = lines

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="help") as box:
            box.border_title = "Help"
            box.border_subtitle = "Esc closes"
            for sign, words in self._lines:
                if sign:
                    with Horizontal(classes="help-row"):
                        yield Static(sign, classes="help-sign", markup=False)
                        yield Static(words, classes="help-words", markup=False)
                else:
                    yield Static(words, classes="help-head", markup=False)

    def on_click(self) -> None:
        self.dismiss()
