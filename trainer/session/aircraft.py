"""One aircraft of the session: its flight, its plan for each approach, which calls it has made.

Also what a message of the tower makes the aircraft do. The trainee's aircraft and the others are the same.
"""

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from drills.steps import Does, Traffic
from phraseology.callkind import demanding
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
from trainer.session.wishes import Wish
from trainer.tower.picture import Asked

CALLS_AGAIN_AFTER_S = 12.0
"""A pilot who got no answer calls again (our own choice)."""
DEED_AFTER_S = 3.0
"""After the leg was entered (our own choice)."""
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
    emergency_known: bool = False
    """The tower has heard of it."""
    contact: bool = False
    owed: Owed | None = None
    owed_right: Asked | None = None
    """What was asked where the tower's answer has an error in it: decided anew once that is challenged."""
    courtesy: tuple[Expected, float] | None = None
    """The answer to the tower's last words where none is due, and until when it would be one."""
    said_landing: str | None = None
    awaiting: float | None = None
    """Since when it waits for an answer to its call."""
    closed_after: str | None = None
    """The traffic behind which it may pull closed."""
    break_due_s: float | None = None
    """When it has counted the seconds to its break."""
    wish: Wish | None = None
    deaf_until: float = 0.0
    """Until then its radio is out."""
    astray_until: float = 0.0
    """Until then it may not be flying what the tower thinks: a message was blocked or got wrong."""
    nature: str | None = None
    """Of an emergency that has befallen it."""
    extra: list[Window] = field(default_factory=list)
    """Calls that are due here beside those of the leg, until they are made."""
    demands: Mapping[str, frozenset[Kind]] = field(default_factory=dict)
    """Elements that a call must carry although the standard allows less."""
    deeds: tuple[Does, ...] = ()
    """What a drill has it do of its own accord."""
    legs_entered: Counter[Leg] = field(default_factory=Counter)
    leg_seen: float = -1.0
    """Since when it has been on the leg that the session last looked at."""
    _reported_gear: bool = False
    """On the downwind already, where it may be reported before the perch."""
    _again: str | None = None
    _windows: tuple[object, list[Window]] | None = None
    _expected: tuple[object, dict[str, Expected]] | None = None

    @property
    def is_trainee(self) -> bool:
        return self.pilot is None

    def is_deaf(self, now: float) -> bool:
        return now < self.deaf_until

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
            nature=self.nature,
        )

    def expect(self, call: str) -> Expected:
        """What belongs in this call now. Asked for at every tick, so kept until the place or plan changes."""
        context = self.context
        if self._expected is None or self._expected[0] != (context, self.demands):
            self._expected = ((context, self.demands), {})
        known = self._expected[1]
        if call not in known:
            known[call] = demanding(expect(call, context), self.demands.get(call, frozenset()))
        return known[call]

    def enters(self, leg: Leg) -> None:
        """Its flight is on this leg now; what was reported on the leg before is not due again."""
        self.legs_entered[leg] += 1
        if leg is not Leg.FINAL_TURN:
            self._reported_gear = False
        elif self._reported_gear:
            self.has_made("gear_report")

    def has_deeds(self, traffic: Iterable[Traffic], now: float) -> None:
        """It has come: what the drill has it do, on the leg on which it appears and later."""
        self.deeds = next((each.does for each in traffic if each.callsign == self.callsign), ())
        self.enters(self.flight.leg)
        self.wish = self.deed(self.flight.leg, now)

    def deed(self, leg: Leg, since: float) -> Wish | None:
        """What the drill has it do on this leg, entered at `since`."""
        for each in self.deeds:
            if each.on == leg and each.occurrence == self.legs_entered[leg]:
                return Wish(each.does, since + DEED_AFTER_S, since)
        return None

    def open_windows(self) -> list[Window]:
        """The calls that belong on this leg and have not been made."""
        flight = self.flight
        key = (flight.leg_since, flight.clearances, flight.path)
        if self._windows is None or self._windows[0] != key:
            self._windows = (key, windows(flight))
        since = flight.leg_since
        asked = [window for window in self.extra if window.opens_at_s <= flight.now]
        usual = [window for window in self._windows[1] if (since, window.call) not in self.made]
        return [*asked, *usual] if asked else usual

    def due_windows(self) -> list[Window]:
        """The open ones; a report of the point is none before the tower knows of the aircraft."""
        return [window for window in self.open_windows() if self.contact or window.call != "entry_point"]

    def acts_at(self, now: float) -> float:
        """When it next enters a leg or has something to say, if nobody says anything to it; `now` where
        that is not known beforehand."""
        waits_for_another = self.owed is not None or self.closed_after is not None
        on_another_leg = self.flight.leg_since != self.leg_seen
        if self.pilot is None or waits_for_another or on_another_leg or self._again is not None:
            return now
        calls = [self.pilot.calls_at(window) for window in self.due_windows()]
        call_at = min(calls, default=math.inf)
        if self.awaiting is not None:
            call_at = max(call_at, self.awaiting + CALLS_AGAIN_AFTER_S)
        if self.wish is not None and self.contact:
            call_at = min(call_at, self.wish.at)
        breaks_at = math.inf if self.break_due_s is None else self.break_due_s
        return min(max(call_at, self.deaf_until), self.flight.path.ends_at, breaks_at)

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
        self._reported_gear = self._reported_gear and call != "gear_report"

    def has_made(self, call: str) -> None:
        self.made.add((self.flight.leg_since, call))
        self._reported_gear = self._reported_gear or call == "gear_report"
        if self.extra:
            self.extra = [window for window in self.extra if window.call != call]

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
            if flight.leg is not Leg.STRAIGHT_THROUGH:
                flight.straight_through(now)
            if report == "outside_downwind":
                flight.ask_report("outside_downwind")
        case "breakout" | "closed_denied_breakout" | "entry_not_available":
            flight.breakout(now, report)
        case "emergency_in_pattern" if report:
            flight.breakout(now, report)
        case "maintain":
            flight.maintain(now, float(message.value(Kind.ALTITUDE) or 0))
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
