"""The pattern drawn in dots: from NM in the runway's plane to the cells of the plan view."""

import math

from trainer.debrief.account import shown
from trainer.drawing.svg import Place
from trainer.live.chart import Chart, ChartView, Seen, Up, turned
from trainer.screens.dots import DotPlace, Dots

INKS = ("far", "next", "flown", "ahead", "runway", "point", "call", "due", "own", "other", "beyond")
"""Each is a class of the stylesheet, `plan--` before it."""
_ARROWS = "→↗↑↖←↙↓↘"
_CALL, _NEXT_CALL, _POINT = "○", "◉", "+"
_PATIENCE = 2
"""Words stay on their side of a sign until they hide so many cells more than elsewhere: they do not dance."""
_EDGE = 4.0
"""Dots of air around the pattern."""


class Page:
    """From NM in the runway's plane to dots. `sides` keeps where words stood, from one page to the next."""

    def __init__(
        self, chart: Chart, view: ChartView, up: Up, size: tuple[int, int], sides: dict[str, int]
    ) -> None:
        width, height = size
        self._chart, self._view = chart, view
        self._size, self._sides = size, sides
        self._turned = turned(chart.plan, up)
        self._up = up
        places = [place for _, line in chart.legs for place in line]
        rights, ups = zip(*map(self._turned, [*places, *chart.runway, *view.frame]), strict=True)
        dots_wide, dots_high = 2 * width - 2 * _EDGE, 4 * height - 2 * _EDGE
        wide, high = max(rights) - min(rights), max(ups) - min(ups)
        self._per_nm = min(dots_wide / max(wide, 0.1), dots_high / max(high, 0.1))
        self._left = _EDGE + (dots_wide - wide * self._per_nm) / 2.0 - min(rights) * self._per_nm
        self._top = _EDGE + (dots_high - high * self._per_nm) / 2.0 + max(ups) * self._per_nm

    def at(self, place: Place) -> DotPlace:
        right, up = self._turned(place)
        return self._left + right * self._per_nm, self._top - up * self._per_nm

    def ground(self) -> Dots:
        """What stays where it is while the leg is the same."""
        dots, view = Dots(*self._size), self._view
        for leg, places in self._chart.legs:
            if leg not in (view.leg, view.next_leg):
                dots.line([self.at(place) for place in places], "far", every=3)
        for leg, places in self._chart.legs:
            if leg is view.next_leg:
                dots.line([self.at(place) for place in places], "next")
        (x, y), end = (self.at(place) for place in self._chart.runway)
        for aside in (-1.0, 0.0, 1.0):
            dots.line([(x + aside, y), (end[0] + aside, end[1])], "runway")
        self._name_runway(dots)
        for name, place in self._chart.points.items():
            self._mark(dots, self.at(place), _POINT, name.lower(), "point")
        self._scale(dots)
        return dots

    def draw_moving(self, dots: Dots) -> None:
        view = self._view
        dots.line([self.at(place) for place in view.flown], "flown", every=2)
        dots.line([self.at(place) for place in view.ahead], "ahead", wide=True)
        for seen in view.aircraft:
            if seen.own:
                self._aircraft(dots, seen)
        for call in view.calls:
            sign, ink = (_NEXT_CALL, "due") if call.is_next else (_CALL, "call")
            self._mark(dots, self.at(call.at), sign, call.name.lower() if call.is_next else "", ink)
        for seen in view.aircraft:
            if not seen.own:
                self._aircraft(dots, seen)
        self._name_legs(dots)

    def _aircraft(self, dots: Dots, seen: Seen) -> None:
        x, y = self.at(seen.at)
        if not seen.own and not (0 <= x < 2 * self._size[0] and 0 <= y < 4 * self._size[1]):
            self._beyond(dots, x, y, seen.callsign)
            return
        ahead = self.at((seen.at[0] + seen.going[0], seen.at[1] + seen.going[1]))
        arrow = _arrow(math.atan2(y - ahead[1], ahead[0] - x))
        if seen.own:
            dots.write(int(x // 2) - 1, int(y // 4), f" {arrow} ", "own")
        else:
            self._mark(dots, (x, y), arrow, seen.callsign, "other")

    def _beyond(self, dots: Dots, x: float, y: float, callsign: str) -> None:
        """Outside of the drawing: at its edge, with the way to it."""
        width, height = (2 * self._size[0], 4 * self._size[1])
        arrow = _arrow(math.atan2(height / 2.0 - y, x - width / 2.0))
        edge = min(max(x, 0.0), width - 1.0), min(max(y, 0.0), height - 1.0)
        self._mark(dots, edge, arrow, callsign, "beyond")

    def _mark(self, dots: Dots, at: DotPlace, sign: str, words: str, ink: str) -> None:
        """A sign with words beside it where they hide least; outside of the drawing nothing."""
        x, y = at
        column, row = int(x // 2), int(y // 4)
        if not (0 <= column < dots.width and 0 <= row < dots.height):
            return
        if dots.covered(column, row, 1) is not None:
            dots.write(column, row, sign, ink)
        if words:
            self._words(dots, column, row, words, ink)

    def _words(self, dots: Dots, column: int, row: int, words: str, ink: str) -> None:
        """Beside this cell, where they hide least."""
        middle, left = column - len(words) // 2, column - len(words)
        ways = [(column + 2, row), (left - 1, row), (middle, row - 1), (middle, row + 1)]
        ways += [(column + 3, row), (left - 2, row), (middle, row + 2), (middle, row - 2)]
        fits = {side: dots.covered(*way, len(words)) for side, way in enumerate(ways)}
        hidden = {side: cells for side, cells in fits.items() if cells is not None}
        if not hidden:
            return
        side = min(hidden, key=lambda side: hidden[side])
        kept = self._sides.get(words, side)
        if kept in hidden and hidden[kept] <= hidden[side] + _PATIENCE:
            side = kept
        self._sides[words] = side
        dots.write(*ways[side], words, ink)

    def _name_legs(self, dots: Dots) -> None:
        """The present leg and the next by their names, where there is room."""
        if dots.width < 40 or dots.height < 20:
            return
        view = self._view
        lines = [(view.leg, view.ahead, "ahead")]
        lines += [(leg, places, "next") for leg, places in self._chart.legs if leg is view.next_leg]
        for leg, places, ink in lines:
            x, y = self.at(places[len(places) // 2])
            self._words(dots, int(x // 2), int(y // 4), shown(leg.value), ink)

    def _name_runway(self, dots: Dots) -> None:
        x, y = self.at((-0.35, 0.0))
        name = self._chart.plan.runway_end
        dots.write(int(x // 2) - len(name) // 2, int(y // 4), name, "runway")

    def _scale(self, dots: Dots) -> None:
        """One mile, and where north is, at the foot."""
        cells = max(1, round(self._per_nm / 2.0))
        dots.write(0, dots.height - 1, f"├{'─' * max(0, cells - 2)}┤ 1 NM", "point")
        turn = math.pi / 2.0 if self._up != "runway across" else 0.0
        if self._up != "north up":
            turn += math.radians(self._chart.plan.heading_deg)
        words = f"N {_arrow(turn)}"
        dots.write(dots.width - len(words), dots.height - 1, words, "point")


def _arrow(turn: float) -> str:
    """Radians from rightwards, anticlockwise."""
    return _ARROWS[round(turn / (math.pi / 4.0)) % 8]
