"""The legs of the pattern side by side, the present one in brackets, and a line for how far it is flown."""

from textual.content import Content

from trainer.debrief.account import shown
from trainer.live.route import OVERHEAD, route_with
from trainer.live.view import FlightView
from trainer.pattern.leg import Leg
from trainer.screens.line import Line
from trainer.screens.themes import FAINT

_SHORT = {
    Leg.NINETY_TO_INITIAL: "90",
    Leg.FORTY_FIVE_TO_INITIAL: "45",
    Leg.BREAK_TURN: "break",
    Leg.INSIDE_DOWNWIND: "inside",
    Leg.FINAL_TURN: "turn",
    Leg.DEPARTURE: "upwind",
    Leg.OUTSIDE_DOWNWIND: "outside",
    Leg.CLOSED_PULL_UP: "pull-up",
    Leg.CLOSED_DOWNWIND: "closed",
    Leg.STRAIGHT_THROUGH: "straight",
}
_LONG = {
    Leg.NINETY_TO_INITIAL: "90 to initial",
    Leg.FORTY_FIVE_TO_INITIAL: "45 to initial",
    Leg.BREAK_TURN: "break",
    Leg.CLOSED_PULL_UP: "closed pull-up",
}
_WIDEST_MARGIN = 4
"""Columns of air that a leg may get where the terminal is wide."""


class PatternStrip(Line):
    """Two lines."""

    def __init__(self) -> None:
        super().__init__(id="strip")
        self._route: tuple[Leg, ...] = OVERHEAD
        self._view: FlightView | None = None

    def show(self, view: FlightView) -> None:
        self._route = route_with(view.leg, self._route)
        self._view = view
        self._draw()

    def on_resize(self) -> None:
        self._draw()

    def _draw(self) -> None:
        width = self.content_size.width
        if self._view is not None and width > 0:
            self.draw(strip(self._route, self._view, width))


def strip(route: tuple[Leg, ...], view: FlightView, width: int) -> Content:
    """Names over the line of progress, as long as fit: long, else short, else without the first."""
    here = route.index(view.leg)
    named = _cells(route, view, _LONG)
    if sum(map(len, named)) > width:
        named = _cells(route, view, _SHORT)
    spare = max(0, width - sum(map(len, named))) // len(named)
    named = [name.center(len(name) + min(spare, _WIDEST_MARGIN)) for name in named]
    first = 0
    while sum(map(len, named[first:])) > width and first < here:
        first += 1
    names, line = Content(""), Content("")
    for index, name in enumerate(named[first:], first):
        state = "bold $primary" if index == here else FAINT if index < here else ""
        names += Content.styled(name, state)
        flown = round(len(name) * (1.0 if index < here else view.progress if index == here else 0.0))
        line += Content.styled("━" * flown, "$primary") + Content.styled("·" * (len(name) - flown), FAINT)
    return names + Content("\n") + line


def _cells(route: tuple[Leg, ...], view: FlightView, names: dict[Leg, str]) -> list[str]:
    """Each leg's name with its margin; the present one in brackets, the entry point by its own name."""
    cells = []
    for leg in route:
        name = names.get(leg, shown(leg.value))
        if leg is Leg.ENTRY_POINT and view.point:
            name = view.point
        cells.append(f"[{name.upper()}]" if leg is view.leg else f" {name} ")
    return cells
