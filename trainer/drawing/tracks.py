"""Tracks of a simulation as SVG: the plan view, north up, and beneath it time against distance to go.

In the lower diagram every approach is a line that runs down to the threshold; where two lines come near
each other the landings were close.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from trainer.drawing.labels import EM_WIDTH, Box, Labels
from trainer.drawing.svg import INK, Place, north_up, stroke, text
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan

_WIDTH, _PLAN_HIGH, _TIME_HIGH, _MARGIN = 1000.0, 620.0, 300.0, 50.0
_COLOURS = ("#1f4e79", "#a0522d", "#2e7d4f", "#7b3f8c", "#b8860b", "#5a6270", "#9c2f3f", "#2f7f8c")
_FAINT = "#b8bcc2"
_LONGEST_NM = 15.0
_LABEL_SIZE = 9.0


@dataclass
class Trace:
    """One aircraft: second, x, y (NM in the runway-aligned plane) and leg, at equal steps of time."""

    callsign: str
    samples: list[tuple[float, float, float, Leg]] = field(default_factory=list)

    def to_go(self) -> list[list[Place]]:
        """(second, NM to the threshold) for each approach that came to it, as far out as 15 NM."""
        approaches, nm = [], 0.0
        line: list[Place] | None = None
        for (at, x, y, leg), after in zip(
            reversed(self.samples[:-1]), reversed(self.samples[1:]), strict=True
        ):
            if after[3] is Leg.RUNWAY and leg is Leg.FINAL:
                line, nm = [(after[0], 0.0)], 0.0
                approaches.append(line)
            if line is not None:
                nm += math.hypot(after[1] - x, after[2] - y)
                line.append((at, nm))
                if nm > _LONGEST_NM or (leg is Leg.RUNWAY and len(line) > 2):
                    line = None
        return approaches


def draw_tracks(plan: PatternPlan, traces: Sequence[Trace], seconds: float, title: str) -> str:
    """The whole SVG document; `seconds` is how long was flown."""
    high = _PLAN_HIGH + _TIME_HIGH + 3.0 * _MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {high:.0f}"'
        f' width="{_WIDTH:.0f}" height="{high:.0f}" font-family="sans-serif" font-size="12">',
        f"<title>{escape(title)}</title>",
        '<rect width="100%" height="100%" fill="white"/>',
        text((20.0, 28.0), title, font_size=16, font_weight="bold"),
        *_plan_view(plan, traces),
        *_time_and_distance(traces, max(seconds, 1.0)),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _colour(index: int) -> str:
    return _COLOURS[index % len(_COLOURS)]


def _plan_view(plan: PatternPlan, traces: Sequence[Trace]) -> Iterable[str]:
    runway = [(0.0, 0.0), (plan.length_nm, 0.0)]
    points = {name: plan.point(name) for name in plan.points}
    flown = [(x, y) for trace in traces for _, x, y, _ in trace.samples]
    east, north = zip(*(north_up(plan, each) for each in (*runway, *points.values(), *flown)), strict=True)
    wide, high = max(max(east) - min(east), 0.1), max(max(north) - min(north), 0.1)
    per_nm = min((_WIDTH - 2 * _MARGIN) / wide, (_PLAN_HIGH - _MARGIN) / high)
    left = (_WIDTH - wide * per_nm) / 2.0

    def at(place: Place) -> Place:
        e, n = north_up(plan, place)
        return left + (e - min(east)) * per_nm, _MARGIN + (max(north) - n) * per_nm

    yield stroke(map(at, runway), _FAINT, 9.0)
    for name, place in points.items():
        x, y = at(place)
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK}"/>'
        yield text((x + 7.0, y - 5.0), name)
    for index, trace in enumerate(traces):
        if len(trace.samples) > 1:
            yield stroke((at((x, y)) for _, x, y, _ in trace.samples), _colour(index), 0.9)
    foot = _PLAN_HIGH + _MARGIN
    yield stroke(((20.0, foot), (20.0 + 2.0 * per_nm, foot)), INK, 1.5)
    yield text((26.0 + 2.0 * per_nm, foot + 4.0), "2 NM, north (magnetic) up")


def _time_and_distance(traces: Sequence[Trace], seconds: float) -> Iterable[str]:
    top = _PLAN_HIGH + 2.0 * _MARGIN
    bottom, right = top + _TIME_HIGH, _WIDTH - _MARGIN

    def at(place: Place) -> Place:
        second, nm = place
        return (
            _MARGIN + (right - _MARGIN) * second / seconds,
            bottom - _TIME_HIGH * min(nm, _LONGEST_NM) / _LONGEST_NM,
        )

    yield text((_MARGIN, top - 16.0), "distance to go to the threshold, NM, against minutes")
    for nm in range(0, int(_LONGEST_NM) + 1, 5):
        yield stroke((at((0.0, nm)), at((seconds, nm))), _FAINT, 0.6)
        yield text((_MARGIN - 24.0, at((0.0, nm))[1] + 4.0), str(nm))
    every = 60.0 * max(1.0, math.ceil(seconds / 60.0 / 12.0))
    for count in range(int(seconds / every) + 1):
        x, y = at((count * every, 0.0))
        yield text((x, y + 16.0), f"{count * every / 60.0:.0f}", text_anchor="middle")
    approaches = [
        (index, trace.callsign, [at(place) for place in approach])
        for index, trace in enumerate(traces)
        for approach in trace.to_go()
    ]
    for index, _, line in approaches:
        yield stroke(line, _colour(index), 1.2)
    page = Box(_MARGIN, top - 12.0, _WIDTH, bottom)
    labels = Labels(page, _LABEL_SIZE, [_thinned(line) for _, _, line in approaches])
    for index, callsign, line in approaches:
        where = labels.place(callsign, _beside(callsign, line))
        if where is not None:
            yield text(where, callsign, font_size=f"{_LABEL_SIZE:g}", fill=_colour(index), class_="callsign")


def _beside(words: str, line: Sequence[Place]) -> Iterable[Place]:
    """Above the far end of an approach, then down along it on the right and on the left."""
    (x, y), wide = line[-1], EM_WIDTH * _LABEL_SIZE * len(words)
    yield x, y - 3.0
    for x, y in _thinned(line[::-1]):
        for side in (4.0, -wide - 4.0):
            yield x + side, y + 0.3 * _LABEL_SIZE


def _thinned(line: Sequence[Place]) -> list[Place]:
    """Its places at least a label's height apart, and its end."""
    kept = [line[0]]
    for place in line[1:-1]:
        if math.dist(place, kept[-1]) >= _LABEL_SIZE:
            kept.append(place)
    return [*kept, line[-1]]
