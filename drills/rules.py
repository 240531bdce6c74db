"""What no single key of a drill shows: names of the field, order, and tower steps against one another."""

from collections.abc import Iterator, Sequence

from drills.drill import Approach, Drill, TowerStep
from drills.errors import Path, Problem, Severity, nearest, quoted, suggestion
from drills.field import Field
from drills.replies import DETAILS, REPLIES, TAKES
from phraseology.elements import Callsign


def problems(drill: Drill, field: Field) -> Iterator[Problem]:
    """Everything that is wrong with a drill flown at this field; errors and warnings."""
    yield from _names(drill, field)
    yield from _flight(drill, field)
    yield from _steps(drill, field)


def _unknown(path: Path, what: str, name: str, choices: Sequence[str]) -> Problem:
    return Problem(path, f"there is no {what} {quoted(name)}", suggestion(name, choices))


def _long_callsigns(drill: Drill) -> Iterator[Problem]:
    """Practice callsigns may be longer than real ones; it is said all the same."""
    named: list[tuple[Path, str]] = [(("callsign",), drill.callsign)]
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
    if drill.entry_point not in points:
        yield _unknown(("entry_point",), f"entry point at {field.field}", drill.entry_point, points)
    for index, step in enumerate(drill.tower):
        if step.point is not None and step.point not in points:
            yield _unknown(("tower", index, "point"), f"entry point at {field.field}", step.point, points)
    yield from _long_callsigns(drill)
    taken = {drill.callsign: "the trainee's"}
    for index, other in enumerate(drill.traffic):
        if other.callsign in taken:
            yield Problem(
                ("traffic", index, "callsign"),
                f"{other.callsign} is already {taken[other.callsign]} call sign",
                "give each aircraft its own",
            )
        taken[other.callsign] = "another aircraft's"


def _flight(drill: Drill, field: Field) -> Iterator[Problem]:
    if drill.altitude_ft <= field.elevation_ft:
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


def _steps(drill: Drill, field: Field) -> Iterator[Problem]:
    seen: set[tuple[str, int | str]] = set()
    for index, step in enumerate(drill.tower):
        path: Path = ("tower", index)
        if (step.on, step.occurrence) in seen:
            yield Problem(
                path,
                f"{step.on}, occurrence {step.occurrence}, is answered by an earlier step already",
                "change its occurrence or delete one of the two",
            )
        seen.add((step.on, step.occurrence))
        yield from _reply(path, step)
        if step.altitude_ft is not None and step.altitude_ft <= field.elevation_ft:
            yield Problem(
                (*path, "altitude_ft"),
                f"altitude_ft {step.altitude_ft} is not above the field elevation {field.elevation_ft}",
                "write an altitude above sea level",
            )
        goes = len(drill.circuits) - 1
        if step.on == "request_closed" and isinstance(step.occurrence, int) and step.occurrence > goes:
            yield Problem(
                (*path, "occurrence"),
                f"with {len(drill.circuits)} circuits closed is usually requested {goes} times, "
                f"so occurrence {step.occurrence} may never come",
                "add a circuit or lower the occurrence",
                Severity.WARNING,
            )


def _reply(path: Path, step: TowerStep) -> Iterator[Problem]:
    if step.reply not in REPLIES[step.on]:
        elsewhere = [call for call, replies in REPLIES.items() if step.reply in replies]
        belongs = f", it belongs to {' and '.join(elsewhere)}" if elsewhere else ""
        likely = nearest(step.reply, REPLIES[step.on]) if not elsewhere else None
        meant = f'did you mean "{likely}"? The' if likely else "the"
        yield Problem(
            (*path, "reply"),
            f"{quoted(step.reply)} is no reply to {step.on}{belongs}",
            f"{meant} replies are: {', '.join(REPLIES[step.on])}",
        )
        return
    takes = TAKES.get(step.reply, frozenset())
    for key in DETAILS:
        given = getattr(step, key) is not None
        if given and key not in takes:
            yield Problem((*path, key), f"{step.reply} does not say a {key}", f"delete {key}")
        if not given and key in takes:
            yield Problem(path, f"{step.reply} needs a {key}", f'add "{key}: ..."')
