"""What no single key of a drill shows: names of the field, order, and tower steps against one another."""

from collections.abc import Iterator, Sequence

from drills.drill import Drill
from drills.errors import Path, Problem, Severity, quoted, suggestion
from drills.field import Field
from drills.step_rules import step_problems
from drills.values import Approach
from phraseology.elements import Callsign

LEAST_VISIBILITY_SM = 3.0
"""For take-off, landing and the pattern under VFR (14 CFR 91.155(d), from memory; ICAO Annex 2 4.2: 5 km)."""


def problems(drill: Drill, field: Field) -> Iterator[Problem]:
    """Everything that is wrong with a drill flown at this field; errors and warnings."""
    yield from _names(drill, field)
    yield from _flight(drill, field)
    yield from step_problems(drill, field)


def _unknown(path: Path, what: str, name: str, choices: Sequence[str]) -> Problem:
    return Problem(path, f"there is no {what} {quoted(name)}", suggestion(name, choices))


def _long_callsigns(drill: Drill) -> Iterator[Problem]:
    """Practice callsigns may be longer than real ones; it is said all the same."""
    named: list[tuple[Path, str]] = [
        (("callsign", index), callsign) for index, callsign in enumerate(drill.callsigns)
    ]
    named += [(("traffic", index, "callsign"), other.callsign) for index, other in enumerate(drill.traffic)]
    for path, callsign in named:
        if not Callsign.of(callsign).within_limit:
            yield Problem(
                path,
                f"{callsign} has more than the 7 letters and figures of a military call sign"
                " (FAA JO 7110.65 2-4-9)",
                "drop a figure or take a shorter word, unless local practice differs",
                Severity.WARNING,
            )


def _names(drill: Drill, field: Field) -> Iterator[Problem]:
    ends = [runway.end for runway in field.runways]
    points = list(field.points)
    if drill.runway not in ends:
        yield _unknown(("runway",), f"runway at {field.field}", drill.runway, ends)
    if drill.entry_point is not None and drill.entry_point not in points:
        yield _unknown(("entry_point",), f"entry point at {field.field}", drill.entry_point, points)
    named: list[tuple[Path, str | None]] = [
        (("traffic", index, "entry_point"), other.entry_point) for index, other in enumerate(drill.traffic)
    ]
    named += [(("tower", index, "point"), step.point) for index, step in enumerate(drill.tower)]
    named += [(("events", index, "point"), event.point) for index, event in enumerate(drill.events)]
    for path, name in named:
        if name is not None and name not in points:
            yield _unknown(path, f"entry point at {field.field}", name, points)
    yield from _long_callsigns(drill)
    taken: dict[str, str] = {}
    for index, callsign in enumerate(drill.callsigns):
        if callsign in taken:
            yield Problem(("callsign", index), f"{callsign} is listed twice", "keep one of the two")
        taken[callsign] = "the trainee's"
    for index, other in enumerate(drill.traffic):
        if other.callsign in taken:
            yield Problem(
                ("traffic", index, "callsign"),
                f"{other.callsign} is already {taken[other.callsign]} call sign",
                "give each aircraft its own",
            )
        taken[other.callsign] = "another aircraft's"


def _flight(drill: Drill, field: Field) -> Iterator[Problem]:
    if drill.altitude_ft is not None and drill.altitude_ft <= field.elevation_ft:
        yield Problem(
            ("altitude_ft",),
            f"altitude_ft {drill.altitude_ft} is not above the field elevation {field.elevation_ft}",
            "write an altitude above sea level",
        )
    if drill.time_limit_minutes < drill.expected_minutes:
        yield Problem(
            ("time_limit_minutes",),
            f"the time limit {drill.time_limit_minutes:g} is shorter than the "
            f"{drill.expected_minutes:g} minutes expected",
            "raise time_limit_minutes",
            Severity.WARNING,
        )
    if drill.visibility_sm < LEAST_VISIBILITY_SM:
        yield Problem(
            ("visibility_sm",),
            f"nobody flies the pattern by sight in {drill.visibility_sm:g} miles (14 CFR 91.155)",
            f"write {LEAST_VISIBILITY_SM:g} or more",
            Severity.WARNING,
        )
    yield from _full_stops(("circuits",), drill.circuits)
    for index, other in enumerate(drill.traffic):
        yield from _full_stops(("traffic", index, "circuits"), other.circuits)


def _full_stops(path: Path, circuits: tuple[Approach, ...]) -> Iterator[Problem]:
    for index, approach in enumerate(circuits[:-1]):
        if approach == "full_stop":
            yield Problem(
                (*path, index),
                "a full_stop ends the flight, but more approaches follow",
                "make it the last, or write touch_and_go here",
            )
