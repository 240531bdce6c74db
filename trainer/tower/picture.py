"""What the controller sees: the field, the runway in use, and every aircraft with its predicted path."""

from collections.abc import Mapping
from dataclasses import dataclass

from drills.field import Field
from phraseology.replies import Message
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg

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


@dataclass(frozen=True)
class Picture:
    """`now` is session seconds; `flights` by callsign; `wind` and `altimeter` as `Kind` values."""

    now: float
    field: Field
    runway: str
    wind: str
    altimeter: str
    flights: Mapping[str, Flight]

    def others(self, callsign: str) -> dict[str, Flight]:
        return {name: flight for name, flight in self.flights.items() if name != callsign}

    @property
    def in_the_pattern(self) -> list[str]:
        return [name for name, flight in self.flights.items() if flight.leg in IN_THE_PATTERN]


@dataclass(frozen=True)
class Asked:
    """What a call meant: which call, by whom, and what it asked for."""

    call: str
    callsign: str
    intention: str | None = None
    has_atis: bool = False


@dataclass(frozen=True)
class Decision:
    """What the controller says, and why: sentences for the debrief."""

    message: Message
    reasons: tuple[str, ...]
