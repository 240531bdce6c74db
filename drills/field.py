"""A field file: one airfield with its overhead pattern, runways and entry points."""

import math
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field as Key

from drills.errors import Problem, Severity, UnknownName
from drills.shape import Matching, Text, Written

BreakSide = Literal["left", "right"]

Feet = Annotated[int, Key(ge=-1_500, le=60_000)]
Miles = Annotated[float, Key(gt=0, le=100)]
Degrees = Annotated[float, Key(ge=0, le=360)]


RunwayEnd = Annotated[
    str,
    Matching(
        r"(0?[1-9]|[12][0-9]|3[0-6])[LRC]?",
        "a runway end",
        'write 1 to 36 and L, C or R if needed, as in "31"',
    ),
]
PointName = Annotated[
    str,
    Matching(r"[A-Z]{3,12}", "a point name", "write one word of 3 to 12 capital letters"),
]


class Runway(Written):
    """One end of a runway."""

    end: RunwayEnd = Key(description='The number as painted, in quotes: "31".')
    heading_deg: Degrees = Key(description="Magnetic heading of the runway, degrees.")
    length_ft: int = Key(ge=1_000, le=20_000, description="Length, feet.")
    break_side: BreakSide = Key(alias="break", description="The side to which aircraft break.")


class Point(Written):
    """A VFR entry point, measured from the middle of the field."""

    bearing_deg: Degrees = Key(description="Magnetic bearing from the field, degrees.")
    distance_nm: Miles = Key(description="Distance from the field, nautical miles.")


class Field(Written):
    """One airfield."""

    field: Text = Key(description="Name of the field.")
    tower: Text = Key(description="Call sign of the tower, as it is addressed.")
    standard: Literal["us_military_tower", "us_civil_tower", "icao", "uk_military"] = Key(
        description="Whose wording and number forms are spoken."
    )
    elevation_ft: Feet = Key(description="Field elevation, feet above sea level.")
    overhead_altitude_ft: Feet = Key(description="Altitude of the overhead pattern, feet above sea level.")
    conventional_altitude_ft: Feet = Key(
        description="Altitude of the conventional pattern, feet above sea level."
    )
    breakout_altitude_ft: Feet = Key(description="Altitude climbed to on a breakout, feet above sea level.")
    outside_offset_nm: Miles = Key(
        description="Distance of the outside downwind from the runway line, nautical miles."
    )
    initial_nm: Miles = Key(description="Where initial begins, nautical miles from the threshold.")
    report_initial_nm: Miles = Key(
        description="Where the initial report is asked for, nautical miles from the threshold."
    )
    limit: int = Key(ge=1, le=12, description="The most aircraft in the overhead pattern.")
    minimum_separation_nm: Miles = Key(
        description="Aircraft that obey never come closer than this, nautical miles."
    )
    same_runway_separation_ft: int = Key(
        default=6_000,
        ge=0,
        le=20_000,
        description="How far past the threshold, airborne, the one ahead is when the next crosses it, feet.",
    )
    parallels_apart_ft: int | None = Key(
        default=None,
        ge=500,
        le=20_000,
        description="From one parallel runway's centreline to the next one's, feet: for the drawing.",
    )
    channel_spacing_khz: Literal["25", "8.33"] = Key(
        default="25", description="Spacing of the radio's channels, in quotes: the narrow ones sound duller."
    )
    runways: tuple[Runway, ...] = Key(min_length=1, max_length=8, description="The runway ends in use.")
    points: dict[PointName, Point] = Key(min_length=1, max_length=30, description="The entry points by name.")

    def runway(self, end: str) -> Runway:
        """The runway end, or `UnknownName` with the ends there are."""
        for runway in self.runways:
            if runway.end == end:
                return runway
        raise UnknownName(f"runway at {self.field}", end, (runway.end for runway in self.runways))

    def point(self, name: str) -> Point:
        """The entry point, or `UnknownName` with the points there are."""
        if name not in self.points:
            raise UnknownName(f"entry point at {self.field}", name, self.points)
        return self.points[name]


def problems(field: Field) -> Iterator[Problem]:
    """What no single key shows: altitudes and distances against one another and published rules."""
    yield from _altitudes(field)
    yield from _initial(field)
    yield from _runways(field)


def _altitudes(field: Field) -> Iterator[Problem]:
    for key in ("overhead_altitude_ft", "conventional_altitude_ft", "breakout_altitude_ft"):
        if getattr(field, key) <= field.elevation_ft:
            yield Problem(
                (key,),
                f"{key} {getattr(field, key)} is not above the field elevation {field.elevation_ft}",
                "write an altitude above sea level, not a height above the ground",
            )
    if field.overhead_altitude_ft < field.conventional_altitude_ft + 500:
        yield Problem(
            ("overhead_altitude_ft",),
            f"overhead_altitude_ft {field.overhead_altitude_ft} is less than 500 ft above the conventional "
            f"pattern at {field.conventional_altitude_ft} (FAA Pilot/Controller Glossary, overhead maneuver)",
            f"write {field.conventional_altitude_ft + 500} or more, unless local procedure differs",
            Severity.WARNING,
        )
    if field.breakout_altitude_ft <= field.overhead_altitude_ft:
        yield Problem(
            ("breakout_altitude_ft",),
            f"breakout_altitude_ft {field.breakout_altitude_ft} is not above the overhead pattern at "
            f"{field.overhead_altitude_ft} (common practice)",
            "write a higher altitude, unless local procedure differs",
            Severity.WARNING,
        )


def _initial(field: Field) -> Iterator[Problem]:
    if not 3 <= field.initial_nm <= 5:
        yield Problem(
            ("initial_nm",),
            f"initial_nm {field.initial_nm:g} is not 3 to 5 "
            "(FAA Pilot/Controller Glossary, overhead maneuver)",
            "write 3 to 5, unless local procedure differs",
            Severity.WARNING,
        )
    if field.report_initial_nm > field.initial_nm:
        yield Problem(
            ("report_initial_nm",),
            f"report_initial_nm {field.report_initial_nm:g} lies before initial begins, "
            f"at {field.initial_nm:g}",
            f"write {field.initial_nm:g} or less",
        )


def _runways(field: Field) -> Iterator[Problem]:
    seen: set[str] = set()
    for index, runway in enumerate(field.runways):
        if runway.end in seen:
            yield Problem(
                ("runways", index, "end"), f"runway {runway.end} is listed twice", "keep one of the two"
            )
        seen.add(runway.end)
        yield from _other_end(field, index)
        painted = 10 * int(runway.end.rstrip("LRC"))
        if abs(math.remainder(runway.heading_deg - painted, 360)) > 10:
            yield Problem(
                ("runways", index, "heading_deg"),
                f"heading_deg {runway.heading_deg:g} does not fit runway {runway.end}, "
                "whose number is its heading to the nearest ten degrees (FAA AIM 2-3-3)",
                f"write a heading within 10 degrees of {painted:03d}, or another end",
            )


def _other_end(field: Field, index: int) -> Iterator[Problem]:
    """Both ends of one runway are of one length, and look opposite ways."""
    runway = field.runways[index]
    number, letter = runway.end.rstrip("LRC"), runway.end.lstrip("0123456789")
    opposite = (int(number) + 17) % 36 + 1, {"L": "R", "R": "L"}.get(letter, letter)
    for other in field.runways[:index]:
        if (int(other.end.rstrip("LRC")), other.end.lstrip("0123456789")) != opposite:
            continue
        if other.length_ft != runway.length_ft:
            yield Problem(
                ("runways", index, "length_ft"),
                f"{runway.end} and {other.end} are one runway, but {other.end} is {other.length_ft} ft long",
                "write the same length for both",
            )
        if abs(math.remainder(runway.heading_deg - other.heading_deg - 180.0, 360)) > 1.0:
            yield Problem(
                ("runways", index, "heading_deg"),
                f"{runway.end} and {other.end} are one runway, but their headings are not opposite",
                f"write {(other.heading_deg + 180.0) % 360.0 or 360.0:g}",
            )
