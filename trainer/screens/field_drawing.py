"""A field's pattern drawn in dots, north up: the legs, the runway and the entry points."""

from collections.abc import Callable

from textual import events
from textual.content import Content
from textual.widgets import Static

from trainer.drawing.svg import Place
from trainer.live.field_view import FieldView
from trainer.screens.dots import DotPlace, Dots

_INKS = {"leg": "$primary", "runway": "bold $foreground", "point": "$secondary", "": ""}
_EDGE = 6.0
"""Dots of air around it."""


class FieldDrawing(Static):
    """Fits what it shows into the room that it has."""

    def __init__(self) -> None:
        super().__init__(id="drawing")
        self._view: FieldView | None = None

    def show(self, view: FieldView) -> None:
        self._view = view
        self._draw()

    def on_resize(self, event: events.Resize) -> None:
        self._draw()

    def _draw(self) -> None:
        width, height = self.content_size
        if self._view is not None and width > 8 and height > 4:
            self.update(drawing(self._view, width, height))


def drawing(view: FieldView, width: int, height: int) -> Content:
    """`width` and `height` in cells. The scale is the same both ways, and the pattern fills the room: a point
    beyond the edge stands at the edge, with its distance from the field."""
    to_dots, mile = _scale([*(place for leg in view.legs for place in leg), *view.runway], width, height)
    dots = Dots(width, height)
    for leg in view.legs:
        dots.line([to_dots(place) for place in leg], "leg")
    dots.line([to_dots(place) for place in view.runway], "runway", wide=True)
    for name, away_nm, place in view.points:
        x, y = to_dots(place)
        column, row = round(x / 2), round(y / 4)
        label = f"+{name}"
        if not (0 <= column < width - len(label) and 0 <= row < height - 1):
            label = f"{name} {away_nm:g} NM"
            column, row = min(max(0, column), max(0, width - len(label))), min(max(0, row), height - 2)
        dots.write(column, row, label, "point")
    bar = round(5 * mile / 2)
    dots.write(0, height - 1, f"|{'-' * max(0, bar - 1)}| 5 NM   north up", "point")
    lines = (
        Content("").join(Content.styled(text, _INKS[ink]) for text, ink in dots.row(row))
        for row in range(height)
    )
    return Content("\n").join(lines)


def _scale(places: list[Place], width: int, height: int) -> tuple[Callable[[Place], DotPlace], float]:
    """The way from NM to dots, and the dots of a mile."""
    least_x, most_x = min(x for x, _ in places), max(x for x, _ in places)
    least_y, most_y = min(y for _, y in places), max(y for _, y in places)
    wide, high = 2.0 * width - 2 * _EDGE, 4.0 * (height - 1) - 2 * _EDGE
    mile = min(wide / max(most_x - least_x, 1.0), high / max(most_y - least_y, 1.0))
    left = (2.0 * width - mile * (most_x - least_x)) / 2
    top = (4.0 * (height - 1) - mile * (most_y - least_y)) / 2

    def to_dots(place: Place) -> DotPlace:
        return left + mile * (place[0] - least_x), top + mile * (most_y - place[1])

    return to_dots, mile
