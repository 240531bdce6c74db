"""One aircraft of the session: its flight, its plan for each approach, which calls it has made.

Also what a message of the tower makes the aircraft do. The trainee's aircraft and the others are the same.
"""

import math
from dataclasses import dataclass, field

from phraseology.calls import expect
from phraseology.elements import Kind
from phraseology.expected import Context, Expected
from phraseology.replies import Message
from trainer.pattern.callpoints import Window, windows
from trainer.pattern.errors import PatternError
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg

_DIRECTIONS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


@dataclass
class Aircraft:
    """`circuits` are intentions in order; empty means that the pilot decides each time."""

    callsign: str
    flight: Flight
    circuits: tuple[str, ...]
    base: Context
    altitude_ft: int | None = None
    atis: str | None = None
    approach: int = 0
    made: set[tuple[float, str]] = field(default_factory=set)

    @property
    def intention(self) -> str | None:
        return self.circuits[min(self.approach, len(self.circuits) - 1)] if self.circuits else None

    @property
    def context(self) -> Context:
        """What a call of this aircraft must contain now."""
        return self.base.with_(
            intention=self.intention,
            point=self.flight.via,
            altitude_ft=self.altitude_ft if self.flight.leg is Leg.INBOUND else None,
            atis=self.atis,
            where=self._where(),
        )

    def expect(self, call: str) -> Expected:
        return expect(call, self.context)

    def open_windows(self) -> list[Window]:
        """The calls that belong on this leg and have not been made."""
        since = self.flight.leg_since
        return [window for window in windows(self.flight) if (since, window.call) not in self.made]

    def has_made(self, call: str) -> None:
        self.made.add((self.flight.leg_since, call))

    def _where(self) -> str:
        """Miles and direction from the middle of the runway, by the field's bearings."""
        plan = self.flight.plan
        here = self.flight.position(self.flight.now)
        east_of_middle = here.x_nm - plan.length_nm / 2.0
        miles = math.hypot(east_of_middle, here.y_nm)
        bearing = plan.heading_of(math.atan2(here.y_nm, east_of_middle))
        return f"{max(1, round(miles))} {_DIRECTIONS[round(bearing / 45.0) % 8]}"


def obey(flight: Flight, message: Message, now: float) -> str | None:
    """Do what the message says from `now` on. A sentence if it came too late for this leg, else None."""
    try:
        _obey(flight, message, now)
    except PatternError as error:
        return str(error)
    return None


def _obey(flight: Flight, message: Message, now: float) -> None:
    report = message.value(Kind.REPORT) or ""
    break_at = message.value(Kind.BREAK)
    clearance = message.value(Kind.CLEARANCE)
    match message.kind:
        case "overhead_approved":
            flight.proceed_to_initial(now)
        case "report" if report.startswith("initial"):
            if flight.leg in (Leg.ENTRY_POINT, Leg.INBOUND, Leg.BREAKOUT, Leg.CLIMB_OUT):
                flight.proceed_to_initial(now)
        case "report" if report.isupper():
            flight.breakout(now, report)
        case "report" if report == "outside_downwind":
            flight.ask_report("outside_downwind")
        case "break_approved" | "break_in_sequence":
            flight.approve_break(now)
        case "break_at" if break_at in ("midfield", "departure_end"):
            flight.approve_break(now, break_at)  # type: ignore[arg-type]
        case "report_break":
            flight.ask_report("break_report")
            flight.approve_break(now)
        case "straight_through":
            flight.straight_through(now)
            if report == "outside_downwind":
                flight.ask_report("outside_downwind")
        case "breakout" | "closed_denied_breakout":
            flight.breakout(now, report)
        case "closed_denied_climb_out":
            flight.climb_out(now, float(message.value(Kind.ALTITUDE) or 0), report)
        case "closed_approved":
            flight.approve_closed(now)
        case "extend_upwind":
            flight.extend_upwind(now)
        case "extend_downwind":
            flight.extend_downwind(now)
        case "go_around":
            flight.go_around(now)
        case "turn_base":
            flight.clear_landing(now, clearance)  # type: ignore[arg-type]
            flight.turn_base(now)
        case "cleared" | "cleared_in_sequence":
            flight.clear_landing(now, clearance)  # type: ignore[arg-type]
        case _:
            pass  # questions, roger, stand by, continue: nothing changes in the air
