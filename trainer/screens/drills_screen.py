"""The drills to choose from: the library's and one's own, each with its goal and what `check` says of it."""

from collections.abc import Callable
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Button, Footer, OptionList, Static
from textual.widgets.option_list import Option

from drills.values import Hints
from trainer.live.shelf import Shelved
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import DRILLS
from trainer.screens.line import Line
from trainer.screens.themes import FAINT

FREE = "Free flight"
CHECKING = "... check flies it once"
_HINTS: dict[Hints, str] = {
    "nothing": "No hints.",
    "words": "The words of the next call are shown.",
    "cue": "What is in the next call is shown.",
}


class DrillsScreen(Screen[None]):
    """Posts `Chosen`. `verdict` tells what check says; it takes a second and runs beside the screen."""

    class Chosen(Message):
        """This drill is wanted; None: free flight."""

        def __init__(self, name: str | None) -> None:
            super().__init__()
            self.name = name

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "select", "Choose", key_display="Enter"),
        Binding("escape,q", "back", "Back", key_display="Esc"),
        Binding("f6,l", "app.light", "Light", key_display="F6"),
        Binding("f1,question_mark", "help", "Help", key_display="F1"),
    ]
    AUTO_FOCUS = "#shelf"

    def __init__(self, shelf: list[Shelved], chosen: str | None, verdict: Callable[[Shelved], str]) -> None:
        super().__init__()
        self._shelf = shelf
        self._chosen = chosen
        self._verdict = verdict
        self._verdicts: dict[str, str] = {}

    def compose(self) -> ComposeResult:
        yield Static("Drills | the library, and the drill files of this folder", id="title", markup=False)
        with Horizontal(id="middle"):
            options = [Option(FREE), *(Option(self._listed(each)) for each in self._shelf)]
            yield OptionList(*options, id="shelf", markup=False)
            with VerticalScroll(id="about"):
                yield Line(id="about-text")
        with Horizontal(id="buttons"):
            yield Button("Choose", id="select", variant="primary", compact=True)
            yield Button("Back", id="back", compact=True)
        yield Footer()

    def _listed(self, shelved: Shelved) -> str:
        sign = "x " if shelved.drill is None else ""
        return f"{sign}{shelved.title}" + (" (own file)" if shelved.own else "")

    def on_mount(self) -> None:
        names = [None, *(each.name for each in self._shelf)]
        self.query_one(OptionList).highlighted = names.index(self._chosen) if self._chosen in names else 0

    def _highlighted(self) -> Shelved | None:
        index = self.query_one(OptionList).highlighted
        return self._shelf[index - 1] if index else None

    @on(OptionList.OptionHighlighted)
    def show(self) -> None:
        """Show the drill under the bar."""
        shelved = self._highlighted()
        about = self.query_one("#about-text", Line)
        if shelved is None:
            about.draw(
                "Traffic by chance, a tower that decides by it, and a difficulty that follows your calls."
            )
            return
        check = self._verdicts.get(shelved.name, CHECKING)
        about.draw(described(shelved, check), layout=True)
        if check == CHECKING:
            self._check(shelved)

    @work(thread=True, exclusive=True)
    def _check(self, shelved: Shelved) -> None:
        said = self._verdict(shelved)
        self.app.call_from_thread(self._checked, shelved.name, said)

    def _checked(self, name: str, said: str) -> None:
        self._verdicts[name] = said
        if self.is_mounted:
            self.show()

    @on(OptionList.OptionSelected)
    @on(Button.Pressed, "#select")
    def action_select(self) -> None:
        shelved = self._highlighted()
        if shelved is None or shelved.drill is not None:
            self.post_message(self.Chosen(shelved.name if shelved else None))

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(DRILLS))

    @on(Button.Pressed, "#back")
    def action_back(self) -> None:
        self.dismiss()


def described(shelved: Shelved, check: str) -> Content:
    """Goal, where and how long, and what check says."""
    drill = shelved.drill
    parts = [Content.styled(shelved.title, "bold")]
    if drill is not None:
        field = drill.field.rpartition("/")[2]
        parts += [
            Content(" ".join(drill.goal.split())),
            Content(f"About {drill.expected_minutes:g} minutes, {drill.time_limit_minutes:g} at most."),
            Content(
                f"{field}, runway {drill.runway}, {drill.aircraft.replace('_', ' ')},"
                f" {len(drill.circuits)} approaches, {len(drill.traffic)} other aircraft, pace {drill.pace}."
            ),
            Content(f"Visibility {drill.visibility_sm:g} statute miles. {_HINTS[drill.hints]}"),
        ]
    parts.append(Content.styled(check, "$success" if check.startswith("+") else "$warning"))
    where = str(shelved.path) if shelved.own else f"{shelved.name}, of the library"
    parts.append(Content.styled(where, FAINT))
    return Content("\n\n").join(parts)
