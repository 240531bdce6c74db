"""What is wrong with a field that only its pattern shows: worked out for every class, on every runway end.

Beside `drills.field.problems`, which compares the keys of the file with one another.
"""

import math
from collections.abc import Iterator
from itertools import combinations

from drills.errors import Problem, Severity
from drills.field import Field
from trainer.pattern.errors import PatternError
from trainer.pattern.geometry import Geometry
from trainer.pattern.plan import CROSSWIND_NM, PatternPlan
from trainer.pattern.profiles import PROFILES

CLEAR_NM = 1.0
"""About the radius of holding at a point (CP)."""
STEEPEST_FT_PER_NM = 850.0
"""8 degrees, from the perch down to the threshold (CP): published paths have 3, 318 ft per NM (TERPS)."""
PATTERN_HEIGHT_FT = (600, 2000)
"""Of the conventional pattern; AIM 4-3-3 has 1,000 ft, and 1,500 for large and turbine aircraft."""


def problems(field: Field) -> Iterator[Problem]:
    """Errors and warnings, of a field without errors of its keys."""
    yield from _heights(field)
    try:
        patterns = [
            Geometry(PatternPlan.of(field, runway.end), profile)
            for runway in field.runways
            for profile in PROFILES.values()
        ]
    except PatternError as error:
        said, _, remedy = str(error).partition(": ")
        yield Problem(("outside_offset_nm",), said, remedy)
        return
    yield from _perch(patterns)
    yield from _points(field)


def _heights(field: Field) -> Iterator[Problem]:
    height = field.conventional_altitude_ft - field.elevation_ft
    low, high = PATTERN_HEIGHT_FT
    if not low <= height <= high:
        yield Problem(
            ("conventional_altitude_ft",),
            f"the conventional pattern is {height} ft above the field, usually 1,000 to 1,500 (AIM 4-3-3)",
            f"write {field.elevation_ft + 1000}, unless local procedure differs",
            Severity.WARNING,
        )


def _perch(patterns: list[Geometry]) -> Iterator[Problem]:
    widest = max(patterns, key=lambda pattern: -pattern.perch_x_nm)
    plan, perch_nm = widest.plan, -widest.perch_x_nm
    if plan.report_initial_nm <= perch_nm:
        yield Problem(
            ("report_initial_nm",),
            f"initial would be reported at {plan.report_initial_nm:g} NM, inside the perch, which for a "
            f"{widest.profile.name} is {perch_nm:.1f} NM before the threshold",
            "write 3 to 5",
        )
    steepest = max(patterns, key=_descent_ft_per_nm)
    if _descent_ft_per_nm(steepest) > STEEPEST_FT_PER_NM:
        yield Problem(
            ("overhead_altitude_ft",),
            f"from the perch a {steepest.profile.name} would come down {_descent_ft_per_nm(steepest):.0f} ft "
            f"a NM, more than {STEEPEST_FT_PER_NM:.0f} (common practice)",
            "write a lower altitude, unless local procedure differs",
            Severity.WARNING,
        )


def _descent_ft_per_nm(pattern: Geometry) -> float:
    """From the perch round the final turn and down final."""
    flown_nm = math.pi / 2.0 * pattern.downwind_offset_nm + pattern.roll_out_nm
    return (pattern.plan.overhead_altitude_ft - pattern.plan.elevation_ft) / flown_nm


def _points(field: Field) -> Iterator[Problem]:
    for name in field.points:
        for runway in field.runways:
            plan = PatternPlan.of(field, runway.end)
            if _is_inside(plan, name):
                yield Problem(
                    ("points", name),
                    f"{name} lies inside the pattern of runway {runway.end}, between initial and crosswind",
                    f"write a point beyond the outside downwind, {plan.outside_offset_nm:g} NM from the "
                    f"runway line, or beyond initial, {plan.initial_nm:g} NM from the threshold",
                )
                break
    for one, other in combinations(field.points, 2):
        apart = _apart_nm(field, one, other)
        if apart < 2.0 * CLEAR_NM + field.minimum_separation_nm:
            yield Problem(
                ("points", other),
                f"{other} is {apart:.1f} NM from {one}: aircraft that hold at both would meet",
                f"write a place {2.0 * CLEAR_NM + field.minimum_separation_nm:g} NM or more from it",
            )


def _is_inside(plan: PatternPlan, name: str) -> bool:
    """Between where initial begins and the crosswind, from beside the runway to the outside downwind."""
    x, y = plan.point(name)
    along = -plan.initial_nm <= x <= plan.length_nm + CROSSWIND_NM
    return along and -CLEAR_NM <= y <= plan.outside_offset_nm


def _apart_nm(field: Field, one: str, other: str) -> float:
    first, second = field.points[one], field.points[other]
    angle = math.radians(first.bearing_deg - second.bearing_deg)
    a, b = first.distance_nm, second.distance_nm
    return math.sqrt(max(0.0, a * a + b * b - 2.0 * a * b * math.cos(angle)))
