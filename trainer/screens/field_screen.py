"""A field and its computed pattern: a drawing and the figures, for each runway end, class and wind."""

from typing import ClassVar

from rich.console import Group
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import Screen
from textual.widgets import Button, Footer, Static

from drills.field import Field
from trainer.commands.pattern import legs_table, sizes_table
from trainer.live.field_view import field_view, winds
from trainer.pattern.profiles import PROFILES
from trainer.screens.field_drawing import FieldDrawing
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import FIELD
from trainer.screens.line import Line


class FieldScreen(Screen[None]):
    """To look at; nothing is chosen here."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,enter", "back", "Back", key_display="Esc"),
        Binding("r", "turn('end')", "Runway"),
        Binding("c", "turn('aircraft')", "Class"),
        Binding("w", "turn('wind')", "Wind"),
        Binding("d", "draw", "Drawing"),
        Binding("f6,l", "app.light", "Light", key_display="F6"),
        Binding("f1,question_mark", "help", "Help", key_display="F1"),
    ]
    AUTO_FOCUS = "#figures"
    # The figures take 81 columns; the drawing beside them needs some too.
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (120, "-wide")]  # noqa: RUF012 - Textual's own form

    def __init__(self, field: Field, aircraft: str) -> None:
        super().__init__()
        self._field = field
        self._ends = [runway.end for runway in field.runways]
        self._at = {
            "end": len(self._ends) - 1,
            "aircraft": list(PROFILES).index(aircraft),
            "wind": 0,
        }

    def compose(self) -> ComposeResult:
        yield Line(id="title", markup=False)
        yield Static(id="facts", markup=False)
        with Horizontal(id="middle"):
            yield FieldDrawing()
            with VerticalScroll(id="figures"):
                yield Static(id="tables")
        with Horizontal(id="buttons"):
            for name, label in (("end", "Runway"), ("aircraft", "Class"), ("wind", "Wind")):
                yield Button(label, id=f"turn-{name}", compact=True)
            yield Button("Drawing", id="draw", compact=True)
            yield Button("Back", id="back", compact=True)
        yield Footer()

    def on_mount(self) -> None:
        self.show()

    def show(self) -> None:
        """Show the pattern of the runway end, class and wind that are turned to."""
        end = self._ends[self._at["end"] % len(self._ends)]
        there = winds(self._field, end)
        aircraft = list(PROFILES)[self._at["aircraft"] % len(PROFILES)]
        view = field_view(self._field, end, aircraft, there[self._at["wind"] % len(there)])
        self.query_one("#title", Line).draw(view.title)
        self.query_one("#facts", Static).update("\n".join(view.facts))
        self.query_one(FieldDrawing).show(view)
        tables = self.query_one("#tables", Static)
        if view.figures is None:
            tables.update(view.problem)
        else:
            tables.update(Group(legs_table(view.figures), "", sizes_table(view.figures)))

    def action_turn(self, what: str) -> None:
        self._at[what] += 1
        self.show()

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        name = event.button.id or ""
        if name.startswith("turn-"):
            self.action_turn(name.removeprefix("turn-"))
        elif name == "draw":
            self.action_draw()
        else:
            self.action_back()

    def action_draw(self) -> None:
        """The drawing in the place of the figures, and back; a wide terminal shows both."""
        self.toggle_class("-drawing")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Where both are shown there is nothing to turn to."""
        return self.has_class("-narrow") if action == "draw" else True

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(FIELD))

    def action_back(self) -> None:
        self.dismiss()
