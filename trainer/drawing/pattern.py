"""A pattern as a drawing: SVG written by hand, north up, to scale, the legs by their names in the trade.

A sketch on white paper, as in a briefing; it looks like no instrument and no display.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from trainer.drawing.parallels import FAINT, Parallel, draw_parallel
from trainer.drawing.svg import INK, Place, north_up, stroke, text
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.summary import LegFigures, PatternFigures

_WIDTH, _HEIGHT, _MARGIN, _HEAD, _FOOT = 1000.0, 760.0, 80.0, 84.0, 70.0
_OVERHEAD, _CLOSED, _OUTSIDE = "#1f4e79", "#a0522d", "#6b7280"
_STYLES: dict[Leg, tuple[str, str]] = {
    Leg.CLOSED_PULL_UP: (_CLOSED, "7 4"),
    Leg.CLOSED_DOWNWIND: (_CLOSED, "7 4"),
    Leg.CROSSWIND: (_OUTSIDE, ""),
    Leg.OUTSIDE_DOWNWIND: (_OUTSIDE, ""),
    Leg.NINETY_TO_INITIAL: (_OUTSIDE, ""),
    Leg.FORTY_FIVE_TO_INITIAL: (_OUTSIDE, ""),
}


@dataclass(frozen=True)
class _Label:
    """Where a leg's name stands: at this share of the leg, so many pixels to the outside of the pattern."""

    text: str
    share: float
    aside: float


_LABELS: dict[Leg, _Label] = {
    Leg.INITIAL: _Label("initial", 0.22, -14.0),
    Leg.BREAK_TURN: _Label("break", 0.5, -19.0),
    Leg.INSIDE_DOWNWIND: _Label("inside downwind", 0.5, -14.0),
    Leg.FINAL_TURN: _Label("final turn", 0.5, 14.0),
    Leg.FINAL: _Label("final", 0.5, 14.0),
    Leg.CLOSED_PULL_UP: _Label("closed pull-up", 0.5, 17.0),
    Leg.CLOSED_DOWNWIND: _Label("closed downwind", 0.25, 14.0),
    Leg.DEPARTURE: _Label("departure leg", 0.82, 14.0),
    Leg.CROSSWIND: _Label("crosswind", 0.6, 14.0),
    Leg.OUTSIDE_DOWNWIND: _Label("outside downwind", 0.4, 14.0),
    Leg.NINETY_TO_INITIAL: _Label("90 to initial", 0.55, 14.0),
    Leg.FORTY_FIVE_TO_INITIAL: _Label("45 to initial", 0.5, 14.0),
}


class _Paper:
    """From the runway-aligned plane to pixels; north is up."""

    def __init__(self, plan: PatternPlan, places: Iterable[Place], beside: Iterable[Parallel]) -> None:
        self._plan = plan
        corners = [north_up(self._plan, place) for place in places]
        corners += [place for parallel in beside for place in parallel.places()]
        east, north = zip(*corners, strict=True)
        self._west, self._top = min(east), max(north)
        wide, high = max(east) - self._west, self._top - min(north)
        self.per_nm = min((_WIDTH - 2 * _MARGIN) / wide, (_HEIGHT - _HEAD - _FOOT - _MARGIN) / high)
        self.height = _HEAD + high * self.per_nm + _MARGIN + _FOOT
        self._left = (_WIDTH - wide * self.per_nm) / 2.0

    def at(self, place: Place) -> Place:
        return self.north_up(north_up(self._plan, place))

    def north_up(self, place: Place) -> Place:
        """The pixel of a place given as NM east and north of the threshold."""
        east, north = place
        return (
            self._left + (east - self._west) * self.per_nm,
            _HEAD + _MARGIN / 2.0 + (self._top - north) * self.per_nm,
        )


def draw(plan: PatternPlan, found: PatternFigures, title: str, beside: Sequence[Parallel] = ()) -> str:
    """The whole SVG document; `beside` are the parallel runways, faint."""
    runway = ((0.0, 0.0), (plan.length_nm, 0.0))
    paper = _Paper(plan, [*runway, *(place for leg in found.legs for place in leg.places)], beside)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {paper.height:.0f}"'
        f' width="{_WIDTH:.0f}" height="{paper.height:.0f}" font-family="sans-serif" font-size="13">',
        f"<title>{escape(title)}</title>",
        '<rect width="100%" height="100%" fill="white"/>',
        *(piece for each in beside for piece in draw_parallel(each, paper.north_up, _other_end)),
        *_runway(paper, plan),
        *(_line(paper, leg) for leg in found.legs),
        *_names(paper, plan, found.legs),
        *_marks(paper, plan, found),
        *_surround(paper, found, title, [each.plan.runway_end for each in beside]),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _line(paper: _Paper, leg: LegFigures) -> str:
    colour, dashes = _STYLES.get(leg.leg, (_OVERHEAD, ""))
    return stroke(map(paper.at, leg.places), colour, 2.0, dashes)


def _runway(paper: _Paper, plan: PatternPlan) -> list[str]:
    threshold, end = paper.at((0.0, 0.0)), paper.at((plan.length_nm, 0.0))
    zone = paper.at((plan.break_zone_nm, 0.0))
    return [
        stroke((threshold, end), "#b8bcc2", 11.0),
        stroke((threshold, zone), "#e3b23c", 11.0),
    ]


def _names(paper: _Paper, plan: PatternPlan, legs: Iterable[LegFigures]) -> Iterable[str]:
    for leg in {each.leg: each for each in legs}.values():
        label = _LABELS.get(leg.leg)
        if label is None or len(leg.places) < 3:
            continue
        index = min(max(round(label.share * (len(leg.places) - 1)), 1), len(leg.places) - 2)
        before, here, after = (paper.at(leg.places[index + step]) for step in (-1, 0, 1))
        course = math.degrees(math.atan2(after[1] - before[1], after[0] - before[0]))
        colour = _STYLES.get(leg.leg, (_OVERHEAD, ""))[0]
        # The outside of a left pattern is on the right hand of every leg; pixels grow downwards.
        outside = math.radians(course + (90.0 if plan.side == "left" else -90.0))
        x, y = here[0] + label.aside * math.cos(outside), here[1] + label.aside * math.sin(outside)
        upright = course if -90.0 < course <= 90.0 else course + 180.0
        yield _arrow(here, course, colour)
        yield text(
            (x, y),
            label.text,
            fill=colour,
            text_anchor="middle",
            dominant_baseline="central",
            transform=f"rotate({upright:.1f} {x:.1f} {y:.1f})",
        )


def _arrow(at: Place, course: float, colour: str, size: float = 6.0) -> str:
    turned = f'transform="translate({at[0]:.1f} {at[1]:.1f}) rotate({course:.1f})"'
    shape = f"M{size:g} 0 L{-size:g} {-0.7 * size:g} L{-size:g} {0.7 * size:g} Z"
    return f'<path d="{shape}" fill="{colour}" {turned}/>'


def _marks(paper: _Paper, plan: PatternPlan, found: PatternFigures) -> Iterable[str]:
    """Points and the runway's numbers; their words stand on the outside, clear of the lines."""
    final, perch = found.leg(Leg.FINAL).places[0], found.leg(Leg.FINAL_TURN).places[0]
    report = (-plan.report_initial_nm, 0.0)
    for place, name, outside in (
        (perch, "perch", 1.0),
        (final, "roll-out", -1.0),
        (report, f"{plan.report_initial_nm:g}-mile report", -1.0),
    ):
        x, y = paper.at(place)
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK}"/>'
        yield _beside(paper, place, name, outside)
    for x_nm, end in ((0.1, plan.runway_end), (plan.length_nm - 0.25, _other_end(plan.runway_end))):
        yield _beside(paper, (x_nm, 0.0), end, -1.0, font_weight="bold")


def _beside(paper: _Paper, place: Place, words: str, outside: float, **how: object) -> str:
    """Words next to a place, on the side of the pattern (1) or the other (-1)."""
    here = paper.at(place)
    x, y = paper.at((place[0], place[1] + outside * 15.0 / paper.per_nm))
    aside = (x - here[0]) / 15.0
    anchor = "middle" if abs(aside) < 0.4 else "start" if aside > 0.0 else "end"
    return text((x, y), words, fill=INK, text_anchor=anchor, dominant_baseline="central", **how)


def _other_end(end: str) -> str:
    """The painted name of the runway's far end."""
    number = (int(end.rstrip("LRC")) + 17) % 36 + 1
    return f"{number:02d}{end.lstrip('0123456789').translate(str.maketrans('LR', 'RL'))}"


def _surround(paper: _Paper, found: PatternFigures, title: str, beside: Sequence[str]) -> Iterable[str]:
    yield text((30.0, 34.0), title, fill=INK, font_size=18, font_weight="bold")
    yield text((30.0, 56.0), _in_words(found), fill=INK)
    x, foot = 30.0, paper.height - 34.0
    for colour, dashes, name in (
        (_OVERHEAD, "", "overhead"),
        (_CLOSED, "7 4", "closed"),
        (_OUTSIDE, "", "outside"),
        ("#e3b23c", "", "break zone"),
        *((FAINT, "", f"pattern of {end}") for end in beside),
    ):
        yield stroke(((x, foot), (x + 34.0, foot)), colour, 8.0 if name == "break zone" else 2.0, dashes)
        yield text((x + 42.0, foot), name, fill=INK, dominant_baseline="central")
        x += 60.0 + 8.0 * len(name)
    yield from _scale((_WIDTH - 60.0 - 2.0 * paper.per_nm, foot), paper.per_nm)
    yield from _north(found)


def _in_words(found: PatternFigures) -> str:
    return (
        f"downwind {found.downwind_offset_nm:.2f} NM out, perch {found.perch_back_nm:.2f} NM back,"
        f" final {found.final_nm:.2f} NM from {found.roll_out_height_ft:.0f} ft,"
        f" outside downwind {found.outside_offset_nm:g} NM out"
    )


def _scale(at: Place, per_nm: float) -> Iterable[str]:
    x, y = at
    yield stroke(((x, y), (x + 2.0 * per_nm, y)), INK, 1.5)
    for nm in (0, 1, 2):
        here = x + nm * per_nm
        yield stroke(((here, y - 5.0), (here, y + 5.0)), INK, 1.5)
        yield text((here, y - 10.0), f"{nm}" if nm < 2 else "2 NM", fill=INK, text_anchor="middle")


def _north(found: PatternFigures) -> Iterable[str]:
    x = _WIDTH - 50.0
    yield stroke(((x, 62.0), (x, 26.0)), INK, 1.5)
    yield _arrow((x, 24.0), -90.0, INK)
    yield text((x, 78.0), "north (mag)", fill=INK, text_anchor="middle", font_size=11)
    x -= 90.0
    if found.wind_kt == 0.0:
        yield text((x, 48.0), "calm", fill=INK, text_anchor="middle")
        return
    going = found.wind_from_deg + 180.0 - 90.0
    ahead = math.radians(going)
    ends = [(x + side * 17.0 * math.cos(ahead), 42.0 + side * 17.0 * math.sin(ahead)) for side in (-1, 1)]
    yield stroke(ends, INK, 1.5)
    yield _arrow(ends[1], going, INK)
    wind = f"wind {found.wind_from_deg:03.0f}/{found.wind_kt:.0f}"
    yield text((x, 78.0), wind, fill=INK, text_anchor="middle", font_size=11)
