"""A line with a name, a value, and an arrow on either side that takes the next one."""

from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message

from trainer.live.choosing import Row
from trainer.screens.line import Line
from trainer.screens.themes import FAINT

LABEL = 12
"""Columns of the name."""


class ChoiceRow(Line, can_focus=True):
    """Left and right, or a click on an arrow, post `Stepped`; a click elsewhere takes the next value."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,minus", "step(-1)", "Before", show=False),
        Binding("right,plus,space", "step(1)", "Next", show=False),
    ]

    class Stepped(Message):
        """Another value is wanted: 1 the next, -1 the one before."""

        def __init__(self, name: str, by: int) -> None:
            super().__init__()
            self.name = name
            self.by = by

    def __init__(self, row: Row) -> None:
        super().__init__(id=f"choose-{row.name}", classes="choice")
        self._row = row.name

    def show(self, row: Row) -> None:
        self.set_class(row.fixed, "-fixed")
        self.can_focus = not row.fixed
        arrows = ("   ", "") if row.fixed else (" < ", " >")
        line = Content.styled(f"{row.label:{LABEL}}", FAINT) + Content(arrows[0])
        self.draw(line + Content.styled(row.value, FAINT if row.fixed else "bold") + Content(arrows[1]))

    def action_step(self, by: int) -> None:
        self.post_message(self.Stepped(self._row, by))

    def on_click(self, event: events.Click) -> None:
        event.stop()
        self.action_step(-1 if LABEL <= event.get_content_offset_capture(self).x < LABEL + 3 else 1)
