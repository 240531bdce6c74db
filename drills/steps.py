"""The parts of a drill that say what happens: traffic, the tower's answers, events, required calls."""

from typing import Annotated, Literal

from pydantic import Field as Key
from pydantic import WithJsonSchema

from drills.field import BreakSide, PointName
from drills.replies import ANNOUNCED, REPLIES, CallPoint, Trap
from drills.shape import Matching, Text, Written
from drills.values import (
    Aircraft,
    Altimeter,
    Altitude,
    Approaches,
    Behind,
    Callsign,
    Nature,
    Occurrence,
    OwnLeg,
    Seconds,
    TrafficLeg,
    Wind,
)
from phraseology.calls import TOWER_CALLS

Reply = Annotated[
    str, WithJsonSchema({"enum": list(dict.fromkeys(reply for of in REPLIES.values() for reply in of))})
]
Announced = Annotated[str, WithJsonSchema({"enum": list(ANNOUNCED)})]
READ_BACK = "read_back"
"""Any answer to the tower, where calls are looked at."""
CallName = Annotated[str, WithJsonSchema({"enum": list(TOWER_CALLS)})]
Looked = Annotated[str, WithJsonSchema({"enum": [*TOWER_CALLS, READ_BACK]})]
Mishap = Literal[Nature, "minimum_fuel", "radio_failure"]
Clock = Annotated[str, Matching(r"[0-2][0-9][0-5][0-9]", "a time", 'write four figures, as in "0710"')]
Element = Literal[
    "station", "position", "side", "runway", "altitude", "distance", "point", "intention", "request", "action"
]
"""Elements that a call may carry, and a drill may demand."""
Deed = Literal[
    "going_around",
    "breaking_out",
    "straight_through",
    "climbing_out",
    "emergency",
    "minimum_fuel",
    "lost_radio",
    "stays_outside",
    "radio_check",
]
"""What an aircraft may do of its own accord."""


class Condition(Written):
    """What the trainee has done before: a branch of the drill."""

    call: Looked = Key(description='The call of the trainee that is looked at; "read_back" is any answer.')
    was: Literal["right", "wrong", "missed"] = Key(
        description="How it was: right (accepted), wrong (not accepted), or missed."
    )
    occurrence: Occurrence = Key(
        default="any", description='Which call of that kind, from 1, or "any": the last one made or missed.'
    )


class Does(Written):
    """Something that another aircraft does of its own accord."""

    on: OwnLeg = Key(description="The leg on which it does it.")
    occurrence: int = Key(default=1, ge=1, le=30, description="Which time on that leg, from 1.")
    does: Deed = Key(description="What it does.")


class Traffic(Written):
    """Another aircraft in the pattern."""

    callsign: Callsign = Key(description="Its call sign.")
    aircraft: Aircraft = Key(description="Its class.")
    starts: TrafficLeg = Key(description="The leg of the pattern on which it appears.")
    after_s: Seconds = Key(default=0.0, description="When it appears, seconds after the session begins.")
    entry_point: PointName | None = Key(
        default=None, description="The point by which it comes inbound; left out: the trainee's."
    )
    circuits: Approaches = Key(description="What it does on each approach, in order; then it leaves.")
    does: tuple[Does, ...] = Key(
        default=(), max_length=12, description="What it does of its own accord, beside its circuits."
    )


class TowerStep(Written):
    """What the tower is made to answer to one call; without a step it decides from the traffic."""

    on: CallPoint = Key(description="The call that is answered.")
    occurrence: Occurrence = Key(
        default="any", description='Which call of that kind in the session, from 1, or "any".'
    )
    when: Condition | None = Key(
        default=None, description="Only if the trainee did this before; such a step goes before others."
    )
    reply: Reply = Key(description="The answer; each call has its own.")
    point: PointName | None = Key(default=None, description="The entry point that the answer names.")
    altitude_ft: Altitude | None = Key(
        default=None, description="The altitude that the answer names, feet above sea level."
    )
    where: Literal["midfield", "departure_end"] | None = Key(
        default=None, description="Where to break, for break_at."
    )
    seconds: int | None = Key(
        default=None, ge=2, le=20, description="How many seconds to count to the break, for break_in."
    )
    traffic: Callsign | None = Key(default=None, description="Whom to follow, for a sequence.")
    behind: Behind | None = Key(
        default=None, description='Behind whom closed is approved, or "departure_end": not before it.'
    )
    side: BreakSide | None = Key(default=None, description="Which way to turn, for three_sixty.")
    trap: Trap | None = Key(
        default=None, description="An error on purpose: another call sign, another runway, or blocked."
    )
    to: Callsign | None = Key(default=None, description="The call sign that is said, for wrong_callsign.")
    note: Text | None = Key(default=None, description="A word of the instructor, for the debrief.")


class Happening(Written):
    """Something that the tower says of itself, or that happens to the trainee."""

    at_s: Seconds = Key(default=0.0, description="Not before this, seconds after the session begins.")
    on: OwnLeg | None = Key(default=None, description="Not before the trainee is on this leg.")
    occurrence: int = Key(default=1, ge=1, le=30, description="Which time on that leg, from 1.")
    when: Condition | None = Key(default=None, description="Only once the trainee has done this.")
    tower: Announced | None = Key(default=None, description="What the tower says.")
    to: Literal["all", "trainee"] = Key(default="all", description="To whom the tower says it.")
    altimeter: Altimeter | None = Key(default=None, description="The new setting, for altimeter.")
    wind: Wind | None = Key(default=None, description="The wind that is said, for wind_check.")
    point: PointName | None = Key(default=None, description="The entry point that is named.")
    side: BreakSide | None = Key(default=None, description="Which way to turn, for three_sixty.")
    time: Clock | None = Key(default=None, description='The time in UTC, in quotes: "0710".')
    traffic: Callsign | None = Key(default=None, description="Of whom the trainee is told, for traffic.")
    trainee: Mishap | None = Key(
        default=None, description="What happens to the trainee; it is shown to him, and he has to say it."
    )
    note: Text | None = Key(default=None, description="A word of the instructor, for the debrief.")


class Required(Written):
    """A call that the drill demands beyond what the pattern asks, or more of one that it asks."""

    call: CallName = Key(description="The call.")
    on: OwnLeg | None = Key(
        default=None, description="The leg on which it is due; left out: where it belongs anyway."
    )
    occurrence: Occurrence = Key(default="any", description='Which time on that leg, from 1, or "any".')
    says: tuple[Element, ...] = Key(
        default=(), max_length=8, description="Elements that it must carry, though the standard allows less."
    )
    within_s: float | None = Key(
        default=None, gt=0, le=120, description="It must come within so many seconds of when it is due."
    )
    note: Text | None = Key(default=None, description="A word of the instructor, for the debrief.")
