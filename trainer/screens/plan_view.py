"""The pattern from above: legs, call points, one's own aircraft and the others by their callsigns.

A sketch, like one on a briefing board. What a line or a sign means is in its shape: the present leg is
double where it is still to be flown, the next one is plain, all others are dotted.
"""

from typing import ClassVar, get_args

from rich.segment import Segment
from textual import events
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from trainer.live.chart import Chart, ChartView, Up
from trainer.screens.dots import Dots
from trainer.screens.plan_page import INKS, Page


class PlanView(Widget):
    """Draws a `Chart`. `show` is cheap where nothing has moved by a dot."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"plan--{ink}" for ink in INKS}

    def __init__(self, chart: Chart) -> None:
        super().__init__(id="plan")
        self._chart = chart
        self._view: ChartView | None = None
        self._up: Up | None = None
        self._ground: tuple[object, Dots] | None = None
        self._sides: dict[str, int] = {}
        self._rows: list[list[tuple[str, str]]] = []

    def turn(self) -> None:
        """The next of runway up, runway across, north up."""
        ways = get_args(Up)
        self._up = ways[(ways.index(self._way_up) + 1) % len(ways)]
        self._draw()

    @property
    def _way_up(self) -> Up:
        """As it was chosen; until then as there is more room for it."""
        return self._up or ("runway across" if self.size.width > 2.5 * self.size.height else "runway up")

    def show(self, view: ChartView) -> None:
        self._view = view
        if self.is_on_screen:
            self._draw()

    def on_resize(self, event: events.Resize) -> None:
        self._draw()

    def render_line(self, y: int) -> Strip:
        if y >= len(self._rows):
            return Strip.blank(self.size.width, self.rich_style)
        plain = self.rich_style
        return Strip(
            [
                Segment(text, self.get_component_rich_style(f"plan--{ink}") if ink else plain)
                for text, ink in self._rows[y]
            ],
            self.size.width,
        )

    def _draw(self) -> None:
        width, height = self.size
        if self._view is None or width < 8 or height < 4:
            return
        if self.border_title != self._way_up:
            self.border_title = self._way_up
        dots = self._drawn(self._view, width, height)
        rows = [list(dots.row(row)) for row in range(height)]
        if len(rows) != len(self._rows):
            self._rows = rows
            self.refresh()
            return
        changed = [y for y, (old, new) in enumerate(zip(self._rows, rows, strict=True)) if old != new]
        self._rows = rows
        if changed:
            self.refresh(*(Region(0, y, width, 1) for y in changed))

    def _drawn(self, view: ChartView, width: int, height: int) -> Dots:
        page = Page(self._chart, view, self._way_up, (width, height), self._sides)
        key = (width, height, self._way_up, view.leg, view.next_leg, view.frame)
        if self._ground is None or self._ground[0] != key:
            self._ground = key, page.ground()
        dots = self._ground[1].copy()
        page.draw_moving(dots)
        return dots
