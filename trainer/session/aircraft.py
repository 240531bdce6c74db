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
from trainer.session.owed import Owed
from trainer.session.pilots import Pilot
from trainer.tower.picture import Asked

_DIRECTIONS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


@dataclass
class Aircraft:
    """`circuits` are intentions in order; empty means that the pilot decides each time.

    `pilot` says its words; the trainee's has none.
    """

    callsign: str
    flight: Flight
    circuits: tuple[str, ...]
    base: Context
    altitude_ft: int | None = None
    atis: str | None = None
    approach: int = 0
    made: set[tuple[float, str]] = field(default_factory=set)
    pilot: Pilot | None = None
    request: str = "overhead"
    emergency: bool = False
    contact: bool = False
    owed: Owed | None = None
    owed_right: Asked | None = None
    """What was asked where the tower's answer has an error in it: decided anew once that is challenged."""
    said_landing: str | None = None
    awaiting: float | None = None
    """Since when it waits for an answer to its call."""
    closed_after: str | None = None
    """The traffic behind which it may pull closed."""
    astray_until: float = 0.0
    """Until then it may not be flying what the tower thinks: a message was blocked or got wrong."""
    leg_seen: float = -1.0
    """Since when it has been on the leg that the session last looked at."""
    _again: str | None = None
    _windows: tuple[object, list[Window]] | None = None

    @property
    def is_trainee(self) -> bool:
        return self.pilot is None

    @property
    def landing(self) -> str:
        """How it will use the runway, as far as the tower knows."""
        return self.said_landing or self.intention or "touch_and_go"

    @property
    def has_priority(self) -> bool:
        straight_in = self.request == "straight_in" and self.approach == 0 and self.flight.leg is Leg.FINAL
        return self.emergency or straight_in or self.flight.leg is Leg.STRAIGHT_IN

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
            request=self.request,
            where=self._where(),
        )

    def expect(self, call: str) -> Expected:
        return expect(call, self.context)

    def open_windows(self) -> list[Window]:
        """The calls that belong on this leg and have not been made."""
        flight = self.flight
        key = (flight.leg_since, flight.clearances, flight.path)
        if self._windows is None or self._windows[0] != key:
            self._windows = (key, windows(flight))
        since = flight.leg_since
        return [window for window in self._windows[1] if (since, window.call) not in self.made]

    def will_say_again(self, call: str) -> None:
        """The tower has not understood this call."""
        self._again = call

    def says_again(self) -> str | None:
        """The call to say again, once."""
        call, self._again = self._again, None
        return call

    def not_heard(self, call: str) -> None:
        """The call led to nothing: it is due again."""
        self.made.discard((self.flight.leg_since, call))

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
        case "overhead_denied":
            flight.straight_in(now)
        case "report" if report.startswith("final"):
            if "straight_in" in flight.possible:
                flight.straight_in(now)
        case "report" if report.isupper():
            flight.breakout(now, report)
        case "report" if report == "outside_downwind":
            flight.ask_report("outside_downwind")
        case "break_approved" | "break_in_sequence" | "break_now":
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
        case "extend_upwind" | "closed_approved_when":
            flight.extend_upwind(now)
        case "extend_downwind":
            flight.extend_downwind(now)
        case "short_approach":
            flight.short_approach(now)
        case "three_sixty":
            flight.three_sixty(now, message.value(Kind.SIDE))  # type: ignore[arg-type]
        case "go_around":
            flight.go_around(now)
        case "turn_base":
            flight.clear_landing(now, clearance)  # type: ignore[arg-type]
            flight.turn_base(now)
        case "cleared" | "cleared_in_sequence":
            flight.clear_landing(now, clearance)  # type: ignore[arg-type]
        case _:
            pass  # questions, roger, stand by, continue: nothing changes in the air
