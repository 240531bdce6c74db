"""The runways parallel to the one that is drawn, and their patterns, faint beside it."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from drills.field import Field
from trainer.drawing.svg import Place, north_up, stroke, text
from trainer.pattern.errors import PatternError
from trainer.pattern.kinematics import FEET_PER_NM
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import Profile
from trainer.pattern.summary import LegFigures, figures

FAINT = "#c3c8ce"
_WORDS = "#7d848d"
_ORDER = "LCR"


@dataclass(frozen=True)
class Parallel:
    """Another runway, used in the same direction; its threshold lies so far from the drawn one's."""

    plan: PatternPlan
    legs: tuple[LegFigures, ...]
    east_nm: float
    north_nm: float

    def north_up(self, place: Place) -> Place:
        """East and north of the drawn runway's threshold of a place in this runway's plane."""
        east, north = north_up(self.plan, place)
        return east + self.east_nm, north + self.north_nm

    @property
    def runway(self) -> tuple[Place, Place]:
        return (0.0, 0.0), (self.plan.length_nm, 0.0)

    def places(self) -> Iterable[Place]:
        """All that is drawn of it, north up."""
        return map(self.north_up, (*self.runway, *(place for leg in self.legs for place in leg.places)))


def parallels(field: Field, plan: PatternPlan, profile: Profile, wind: str) -> list[Parallel]:
    """Those that the field has, where its file says how far they lie apart; midpoints abreast.

    A pattern that does not fit this class in this wind is left out, its runway is drawn all the same.
    """
    if field.parallels_apart_ft is None:
        return []
    number, letter = _named(plan.runway_end)
    found = []
    for runway in field.runways:
        other_number, other_letter = _named(runway.end)
        if other_number != number or runway.end == plan.runway_end:
            continue
        there = PatternPlan.of(field, runway.end, wind)
        try:
            legs = figures(there, profile).legs
        except PatternError:
            legs = ()
        to_the_right = _steps(letter, other_letter, field) * field.parallels_apart_ft / FEET_PER_NM
        ahead = (plan.length_nm - there.length_nm) / 2.0
        right, along = math.radians(plan.heading_deg + 90.0), math.radians(plan.heading_deg)
        east = to_the_right * math.sin(right) + ahead * math.sin(along)
        north = to_the_right * math.cos(right) + ahead * math.cos(along)
        found.append(Parallel(there, legs, east, north))
    return found


def _named(end: str) -> tuple[int, str]:
    return int(end.rstrip("LRC")), end.lstrip("0123456789")


def _steps(letter: str, other: str, field: Field) -> int:
    """How many runways to the right: L and R are neighbours where there is no C."""
    letters = {_named(runway.end)[1] for runway in field.runways}
    order = [each for each in _ORDER if each in letters]
    return order.index(other) - order.index(letter)


def draw_parallel(
    parallel: Parallel, page: Callable[[Place], Place], names: Callable[[str], str]
) -> Iterable[str]:
    """Runway, pattern and the two numbers; `page` takes places north up, `names` gives the far end."""

    def at(place: Place) -> Place:
        return page(parallel.north_up(place))

    yield stroke(map(at, parallel.runway), FAINT, 10.0)
    for leg in parallel.legs:
        yield stroke(map(at, leg.places), FAINT, 1.2)
    plan, beside = parallel.plan, 0.2
    for x_nm, end in ((0.1, plan.runway_end), (plan.length_nm - 0.25, names(plan.runway_end))):
        yield text(at((x_nm, beside)), end, fill=_WORDS, text_anchor="middle", dominant_baseline="central")
