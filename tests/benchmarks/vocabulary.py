"""What of legs, transitions and replies has occurred, and scripted sessions for what has not.

A script is a list of notices (`session/notices.py`) as an instructor would write it: said to the first aircraft
that is on the leg named. The pilots of scripted sessions are by the book.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import product

from drills.check import load_field
from phraseology.elements import Kind
from phraseology.example import example_message
from phraseology.replies import REPLIES
from phraseology.standards import standard
from trainer.pattern.leg import Leg
from trainer.pattern.machine import transition_table
from trainer.session.notices import NEXT, Notice
from trainer.session.pilots import BY_THE_BOOK
from trainer.session.plan import SessionPlan
from trainer.traffic.demand import demand

Transition = tuple[str, str, str]

SCRIPT_ONLY = {
    "runway_change": "a session has one runway in use: its plane is that runway's",
    "time": "no call asks for the time, and a session knows seconds only",
    "heading": "every leg is a pattern's: nobody is vectored",
    "speed": "every class flies the speeds of its profile",
    "contact": "a session has one frequency",
}
"""Replies that the tower never chooses, and why: only an instructor's script has them said."""
FIELDS: dict[str, tuple[tuple[Kind, str], ...]] = {
    "runway_change": ((Kind.RUNWAY, "13"), (Kind.WIND, "130/12")),
    "time": ((Kind.TIME, "0710"),),
    "heading": ((Kind.HEADING, "130"),),
    "speed": ((Kind.SPEED, "200"),),
    "contact": ((Kind.FREQUENCY, "118.1"),),
}
TRANSITIONS: frozenset[Transition] = frozenset(
    (leg, trigger.split(" if ")[0], to) for leg, trigger, to in transition_table() if leg != to
)
SEEDS = 2
"""Each script is flown in the traffic of so many seeds, by way of each entry point."""
_FIELD, _RUNWAY = "corbel", "31"
_POINTS = tuple(sorted(load_field(_FIELD).points))


@dataclass
class Coverage:
    """How often each has occurred, by itself or scripted; made to be added up."""

    legs: Counter[str] = field(default_factory=Counter)
    transitions: Counter[Transition] = field(default_factory=Counter)
    replies: Counter[str] = field(default_factory=Counter)

    def add(self, other: "Coverage") -> None:
        for name in ("legs", "transitions", "replies"):
            getattr(self, name).update(getattr(other, name))

    @property
    def missing(self) -> tuple[list[str], list[Transition], list[str]]:
        return (
            sorted(set(Leg) - set(self.legs)),
            sorted(TRANSITIONS - set(self.transitions)),
            sorted(set(REPLIES) - set(self.replies)),
        )


def table(flown: Coverage, scripted: Coverage) -> list[str]:
    """Every leg, transition and reply with its count, the scripted ones behind it."""
    lines = [f"{'legs':60s} flown  scripted"]
    lines += [f"  {leg:58s} {flown.legs[leg]:5d} {scripted.legs[leg]:9d}" for leg in Leg]
    lines += ["transitions"]
    for each in sorted(TRANSITIONS):
        name = f"{each[0]} -{each[1]}-> {each[2]}"
        lines.append(f"  {name:58s} {flown.transitions[each]:5d} {scripted.transitions[each]:9d}")
    lines += ["replies"]
    for reply in REPLIES:
        why = f"  {SCRIPT_ONLY[reply]}" if reply in SCRIPT_ONLY else ""
        lines.append(f"  {reply:58s} {flown.replies[reply]:5d} {scripted.replies[reply]:9d}{why}")
    for title, found in (("flown", flown), ("with the scripts", _sum(flown, scripted))):
        legs, ways, replies = found.missing
        lines.append(
            f"{title}: legs {len(Leg) - len(legs)} of {len(Leg)}, transitions {len(TRANSITIONS) - len(ways)}"
            f" of {len(TRANSITIONS)}, replies {len(REPLIES) - len(replies)} of {len(REPLIES)}; missing: "
            + ("; ".join([*legs, *(" ".join(way) for way in ways), *replies]) or "none")
        )
    return lines


def _sum(one: Coverage, other: Coverage) -> Coverage:
    both = Coverage()
    both.add(one)
    both.add(other)
    return both


def scripts(lacking: Coverage) -> Iterator[SessionPlan]:
    """Sessions that force what has not occurred, several tries each where it depends on the entry point."""
    _, ways, replies = lacking.missing
    if replies:
        yield _plan(0, tuple(_notice(reply) for reply in replies if reply in SCRIPT_ONLY))
        yield from (_plan(1, (_example(reply),)) for reply in replies if reply not in SCRIPT_ONLY)
    for way in ways:
        yield from (_plan(seed, _script(way, point)) for seed, point in product(range(SEEDS), _POINTS))


def _notice(reply: str, on: str | None = None, *fields: tuple[Kind, str]) -> Notice:
    return Notice(60.0, reply, fields or FIELDS.get(reply, ()), NEXT, on=on)


def _example(reply: str) -> Notice:
    """The reply as the catalogue's example has it, on a leg where it can be obeyed."""
    said = example_message(reply, standard(load_field(_FIELD).standard))
    answers = REPLIES[reply].answers
    on = next((_LEG_OF[call] for call in answers if call in _LEG_OF), None)
    return _notice(reply, on, *said.elements)


_LEG_OF = {"initial": "initial", "gear_report": "inside_downwind", "request_closed": "departure"}
"""Where a call is made that a reply answers."""


def _plan(seed: int, notices: tuple[Notice, ...]) -> SessionPlan:
    place = load_field(_FIELD)
    plan = SessionPlan.of_demand(place, _RUNWAY, 8.0, 0.5, seed)
    come = demand(8.0, 0.5, seed, _POINTS)
    goes = ("touch_and_go", "low_approach", "full_stop")
    visitors = tuple(replace(each, circuits=goes, emergency=False) for each in come)
    return replace(plan, visitors=visitors, habits=BY_THE_BOOK, notices=notices, unavailable=frozenset())


def _script(way: Transition, point: str) -> tuple[Notice, ...]:
    leg, trigger, to = way
    back_to = {"three_sixty": to if trigger == "complete_circle" else Leg.OUTSIDE_DOWNWIND}
    before = tuple(_reaching(leg, point, back_to.get(leg, "")))
    return (*before, *_forcing(leg, trigger, to, point))


def _reaching(leg: str, point: str, back_to: str) -> Iterator[Notice]:
    """How an aircraft gets on a leg that is not on everybody's way."""
    match leg:
        case Leg.CLIMB_OUT:
            yield _notice(
                "closed_denied_climb_out", "departure", (Kind.ALTITUDE, "3700"), (Kind.REPORT, point)
            )
        case Leg.BREAKOUT:
            yield _notice("breakout", "initial", (Kind.REPORT, point))
        case Leg.GOING_AROUND:
            yield _notice("go_around", "final")
        case Leg.STRAIGHT_IN:
            yield _notice("report", "inbound", (Kind.REPORT, "final 3"))
        case Leg.STRAIGHT_THROUGH | Leg.CROSSWIND | Leg.OUTSIDE_DOWNWIND:
            yield _notice("straight_through", "initial", (Kind.REPORT, "outside_downwind"))
        case Leg.THREE_SIXTY:
            if back_to == Leg.OUTSIDE_DOWNWIND:
                yield _notice("straight_through", "initial", (Kind.REPORT, "outside_downwind"))
            yield _notice("three_sixty", back_to, (Kind.SIDE, "right"))


def _forcing(leg: str, trigger: str, to: str, point: str) -> Iterator[Notice]:
    match trigger:
        case "breakout":
            yield _notice("breakout", leg, (Kind.REPORT, point))
        case "climb_out":
            yield _notice("closed_denied_climb_out", leg, (Kind.ALTITUDE, "3700"), (Kind.REPORT, point))
        case "three_sixty":
            yield _notice("three_sixty", leg, (Kind.SIDE, "right"))
        case "go_around":
            yield _notice("go_around", leg)
        case "turn_base":
            yield _notice("extend_downwind", leg)
            for _ in range(12):  # until it is past the perch
                yield _notice("wind_check", leg, (Kind.WIND, "310/8"))
            landing = ((Kind.RUNWAY, _RUNWAY), (Kind.CLEARANCE, "touch_and_go"))
            yield _notice("turn_base", leg, *landing)
        case "pass_break_point" if leg == Leg.STRAIGHT_THROUGH:
            yield _notice("break_now", leg)
        case "reach_point" | "proceed_to_initial" | "straight_in":
            where = "final 3" if to == Leg.STRAIGHT_IN else "initial 3"
            if to != Leg.ENTRY_POINT:
                yield _notice("report", leg, (Kind.REPORT, where))
