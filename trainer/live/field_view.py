"""What the field viewer shows: the pattern of each class at one field, as a table and as places to draw."""

from dataclasses import dataclass

from drills.field import Field
from trainer.drawing.svg import Place, north_up
from trainer.pattern.errors import PatternError
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES
from trainer.pattern.summary import PatternFigures, figures


@dataclass(frozen=True)
class FieldView:
    """One runway end, class and wind. `problem`: why there is no pattern, then there are no `figures`.

    `legs`, `runway` and `points` are NM east and north of the threshold; a point's own NM are from the field.
    """

    title: str
    facts: tuple[str, ...]
    figures: PatternFigures | None
    legs: tuple[tuple[Place, ...], ...]
    runway: tuple[Place, Place]
    points: tuple[tuple[str, float, Place], ...]
    problem: str = ""


def field_view(field: Field, end: str, aircraft: str, wind: str) -> FieldView:
    """The pattern there; `end` is a runway end of the field, `aircraft` a key of `PROFILES`."""
    plan = PatternPlan.of(field, end, wind)
    found, problem = None, ""
    try:
        found = figures(plan, PROFILES[aircraft])
    except PatternError as error:
        problem = str(error)
    legs = tuple(
        tuple(north_up(plan, place) for place in leg.places[::2] + leg.places[-1:])
        for leg in (found.legs if found else ())
    )
    points = tuple(
        (name, field.points[name].distance_nm, north_up(plan, plan.point(name)))
        for name in sorted(field.points)
    )
    return FieldView(
        title=f"{field.field}, runway {end}, {plan.side} break | {aircraft}, wind {wind}",
        facts=(
            f"Tower {field.tower}; standard {field.standard.replace('_', ' ')};"
            f" elevation {field.elevation_ft:,} ft",
            f"Overhead {field.overhead_altitude_ft:,} ft, conventional {field.conventional_altitude_ft:,} ft,"
            f" breakout {field.breakout_altitude_ft:,} ft",
            f"Initial from {field.initial_nm:g} NM, reported at {field.report_initial_nm:g} NM;"
            f" at most {field.limit} in the pattern",
        ),
        figures=found,
        legs=legs,
        runway=(north_up(plan, (0.0, 0.0)), north_up(plan, (plan.length_nm, 0.0))),
        points=points,
        problem=problem,
    )


def winds(field: Field, end: str) -> tuple[str, ...]:
    """Calm, twelve knots down this runway, and across it from the right."""
    heading = field.runway(end).heading_deg
    down, across = (round(degrees) % 360 or 360 for degrees in (heading, heading + 90))
    return ("calm", f"{down:03d}/12", f"{across:03d}/12")
