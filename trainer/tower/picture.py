"""What the controller sees: the field, the runway in use, and every aircraft with its predicted path."""

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as key

from drills.field import Field
from phraseology.elements import Kind
from phraseology.replies import Message
from phraseology.standards import Standard, standard
from trainer.pattern.flight import Flight
from trainer.pattern.kinematics import FEET_PER_NM
from trainer.pattern.leg import Leg
from trainer.traffic.course import Course
from trainer.traffic.outlook import Outlook, Outlooks

HECTOPASCALS_AN_INCH = 33.8639
"""Of mercury at 0 degrees Celsius (ICAO Annex 5, from memory)."""

IN_THE_PATTERN = frozenset(
    {
        Leg.INITIAL,
        Leg.BREAK_TURN,
        Leg.INSIDE_DOWNWIND,
        Leg.FINAL_TURN,
        Leg.FINAL,
        Leg.RUNWAY,
        Leg.DEPARTURE,
        Leg.CLOSED_PULL_UP,
        Leg.CLOSED_DOWNWIND,
        Leg.STRAIGHT_THROUGH,
        Leg.GOING_AROUND,
    }
)
"""Legs that count against the field's limit of aircraft in the overhead pattern."""


def pressure_of(altimeter: str, spoken: Standard) -> dict[Kind, str]:
    """The altimeter setting as the standard gives it; hectopascals are rounded down (PANS-ATM 12)."""
    if spoken.numbers.pressure == "altimeter":
        return {Kind.ALTIMETER: altimeter}
    return {Kind.QNH: str(int(int(altimeter) / 100 * HECTOPASCALS_AN_INCH))}


@dataclass(frozen=True)
class Picture:
    """`now` is session seconds; `flights` by callsign; `wind` and `altimeter` as `Kind` values.

    `landings` is how each has said it will use the runway; `priority` are those that the others make room
    for: straight-ins and emergencies. `emergencies` are those declared, `atis` is the current letter.
    """

    now: float
    field: Field
    runway: str
    wind: str
    altimeter: str
    flights: Mapping[str, Flight]
    landings: Mapping[str, str] = key(default_factory=dict)
    priority: frozenset[str] = frozenset()
    outlooks: Outlooks = key(default_factory=Outlooks)
    emergencies: frozenset[str] = frozenset()
    atis: str = ""
    unavailable: frozenset[str] = frozenset()
    """Entry points that nobody is sent to."""

    @property
    def pressure(self) -> dict[Kind, str]:
        return pressure_of(self.altimeter, standard(self.field.standard))

    def others(self, callsign: str) -> dict[str, Flight]:
        return {name: flight for name, flight in self.flights.items() if name != callsign}

    @property
    def in_the_pattern(self) -> list[str]:
        return [name for name, flight in self.flights.items() if flight.leg in IN_THE_PATTERN]

    def landing(self, callsign: str) -> str:
        return self.landings.get(callsign, "touch_and_go")

    def outlook(self, callsign: str) -> Outlook:
        """Where the aircraft will be if it gets nothing but its landing."""
        flight = self.flights[callsign]
        return self.outlooks.of(callsign, flight, self.now, self.landing(callsign))

    @property
    def same_runway_nm(self) -> float:
        return self.field.same_runway_separation_ft / FEET_PER_NM


@dataclass(frozen=True)
class Asked:
    """What a call meant: which call, by whom, and what it asked for.

    `letter` is the information that was named, `gear` what was said of it, `point` an entry point.
    """

    call: str
    callsign: str
    intention: str | None = None
    has_atis: bool = False
    request: str | None = None
    letter: str | None = None
    gear: str | None = None
    point: str | None = None
    scripted: bool = False
    """A drill has had its say on this call: what is still to be said the tower decides."""


@dataclass(frozen=True)
class Decision:
    """What the controller says, and why: sentences for the debrief.

    `course` is what the aircraft will then fly, `after` the traffic that a condition waits for, `then` a
    second message to the same aircraft once it has answered the first. `note` is the instructor's.
    """

    message: Message
    reasons: tuple[str, ...]
    course: Course | None = None
    after: str | None = None
    then: Message | None = None
    note: str = ""
