"""The steps of a drill against its field and against one another: answers, events, required calls."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from drills.drill import Drill
from drills.errors import Path, Problem, Severity, quoted, suggestion
from drills.field import Field
from drills.replies import ANNOUNCED, DETAILS, EVENT_DETAILS, EVENT_TAKES, REPLIES, TAKES, TO_ALL
from drills.steps import READ_BACK, Condition, Happening, TowerStep
from phraseology.calls import TOWER_CALLS
from phraseology.suggesting import nearest

_CLEARS = frozenset({"cleared", "cleared_in_sequence"})


def step_problems(drill: Drill, field: Field) -> Iterator[Problem]:
    """Everything wrong with `tower`, `events` and `required` of a drill flown at this field."""
    seen: list[tuple[str, int | str, Condition | None]] = []
    for index, step in enumerate(drill.tower):
        path: Path = ("tower", index)
        if (step.on, step.occurrence, step.when) in seen:
            yield Problem(
                path,
                f"{step.on}, occurrence {step.occurrence}, is answered by an earlier step already",
                "change its occurrence or delete one of the two",
            )
        seen.append((step.on, step.occurrence, step.when))
        yield from _condition(path, step.when)
        yield from _reply(path, step)
        yield from _trap(path, step, drill, field)
        yield from _who(path, step, drill)
        if step.altitude_ft is not None and step.altitude_ft <= field.elevation_ft:
            yield Problem(
                (*path, "altitude_ft"),
                f"altitude_ft {step.altitude_ft} is not above the field elevation {field.elevation_ft}",
                "write an altitude above sea level",
            )
        yield from _rarely_comes(path, step, drill)
    for index, event in enumerate(drill.events):
        yield from _condition(("events", index), event.when)
        yield from _event(("events", index), event, drill)
    for index, required in enumerate(drill.required):
        yield from _known_call(("required", index, "call"), required.call)


def _rarely_comes(path: Path, step: TowerStep, drill: Drill) -> Iterator[Problem]:
    goes = len(drill.circuits) - 1
    again = sum(other.on == step.on and other.reply in ("silence", "say_again") for other in drill.tower)
    again += sum(other.on == step.on and other.trap == "wrong_callsign" for other in drill.tower)
    often = isinstance(step.occurrence, int) and step.occurrence > goes + again
    if step.on == "request_closed" and often and step.when is None:
        yield Problem(
            (*path, "occurrence"),
            f"with {len(drill.circuits)} circuits closed is usually requested {goes} times, "
            f"so occurrence {step.occurrence} may never come",
            "add a circuit or lower the occurrence",
            Severity.WARNING,
        )


def _known_call(path: Path, call: str, calls: Sequence[str] = TOWER_CALLS) -> Iterator[Problem]:
    if call not in calls:
        yield Problem(path, f"there is no call {quoted(call)}", suggestion(call, calls))


def _condition(path: Path, when: Condition | None) -> Iterator[Problem]:
    if when is not None:
        yield from _known_call((*path, "when", "call"), when.call, (*TOWER_CALLS, READ_BACK))


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
    yield from _details(path, step.reply, step, DETAILS, TAKES)


def _details(
    path: Path, said: str, part: Any, keys: tuple[str, ...], table: Mapping[str, frozenset[str]]
) -> Iterator[Problem]:
    """The keys that this reply needs are there, and no other."""
    takes = table.get(said, frozenset())
    for key in keys:
        given = getattr(part, key) is not None
        if given and key not in takes:
            yield Problem((*path, key), f"{said} does not say a {key}", f"delete {key}")
        if not given and key in takes:
            yield Problem(path, f"{said} needs a {key}", f'add "{key}: ..."')


def _trap(path: Path, step: TowerStep, drill: Drill, field: Field) -> Iterator[Problem]:
    if step.trap == "wrong_callsign" and step.to is None:
        yield Problem(path, "wrong_callsign needs the call sign that is said", 'add "to: ..."')
    if step.trap != "wrong_callsign" and step.to is not None:
        yield Problem(
            (*path, "to"), "only wrong_callsign says another call sign", "delete to, or add the trap"
        )
    if step.to is not None and step.to in drill.callsigns:
        yield Problem((*path, "to"), f"{step.to} is the trainee himself", "write another call sign")
    if step.trap == "wrong_runway" and (step.reply not in _CLEARS or len(field.runways) < 2):
        yield Problem(
            (*path, "trap"),
            f"{step.reply} clears for no runway that could be the wrong one",
            f"use it with {' or '.join(sorted(_CLEARS))} at a field with two ends",
        )
    if step.trap is not None and step.reply == "silence":
        yield Problem((*path, "trap"), "silence cannot be wrong", "delete trap")


def _who(path: Path, step: TowerStep, drill: Drill) -> Iterator[Problem]:
    """Whom a sequence follows, or closed is approved behind, is among the traffic."""
    known = [other.callsign for other in drill.traffic]
    for key in ("traffic", "behind"):
        named = getattr(step, key)
        if named is not None and named != "departure_end" and named not in known:
            yield Problem((*path, key), f"{named} is not among the traffic", suggestion(named, known))


def _event(path: Path, event: Happening, drill: Drill) -> Iterator[Problem]:
    if (event.tower is None) == (event.trainee is None):
        yield Problem(path, "an event has either tower or trainee", "write the one that you mean")
        return
    if event.tower is not None and event.tower not in ANNOUNCED:
        yield Problem(
            (*path, "tower"), f"{quoted(event.tower)} is no announcement", suggestion(event.tower, ANNOUNCED)
        )
        return
    yield from _details(path, event.tower or str(event.trainee), event, EVENT_DETAILS, EVENT_TAKES)
    if event.tower is not None and event.to == "all" and event.tower not in TO_ALL:
        yield Problem(path, f"{event.tower} is for one aircraft", 'add "to: trainee"')
    if event.traffic is not None and event.traffic not in [other.callsign for other in drill.traffic]:
        known = [other.callsign for other in drill.traffic]
        yield Problem(
            (*path, "traffic"), f"{event.traffic} is not among the traffic", suggestion(event.traffic, known)
        )
