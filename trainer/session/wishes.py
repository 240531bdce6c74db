"""What the other pilots want of their own accord: breaking out, going around, minimum fuel, an emergency.

Drawn once on each leg at the rate of the pilot's habits; said a moment later, if he is still on that leg.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.pattern.leg import Leg
from trainer.pattern.machine import transition_table
from trainer.tower.picture import Picture
from trainer.tower.probe import attempt
from trainer.tower.words import freest_breakout, nearest_point
from trainer.traffic.course import Course

if TYPE_CHECKING:
    from trainer.session.aircraft import Aircraft

STAYS_OUTSIDE = "stays_outside"
"""No call: this time he does not ask for closed, and goes round the outside."""

LOST_RADIO = "lost_radio"
"""No call: he neither hears nor says anything for a while."""
_SILENT_S = 90.0

_BREAKS_OUT_OF = frozenset(Leg(leg) for leg, trigger, _ in transition_table() if trigger == "breakout")
_TO_A_POINT = frozenset({Leg.INBOUND, Leg.BREAKOUT, Leg.CLIMB_OUT, Leg.ENTRY_POINT})
_DOWNWIND = frozenset({Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND})
_WISHES: tuple[tuple[str, float, frozenset[Leg]], ...] = (
    ("radio_check", 1.0, _TO_A_POINT | {Leg.OUTSIDE_DOWNWIND}),
    ("minimum_fuel", 3.0, _TO_A_POINT | {Leg.OUTSIDE_DOWNWIND, Leg.NINETY_TO_INITIAL}),
    ("breaking_out", 1.0, _BREAKS_OUT_OF - {Leg.INBOUND}),
    ("going_around", 2.0, frozenset({Leg.FINAL_TURN, Leg.FINAL, Leg.STRAIGHT_IN})),
    ("straight_through", 1.0, frozenset({Leg.INITIAL})),
    ("climbing_out", 2.0, frozenset({Leg.DEPARTURE, Leg.GOING_AROUND, Leg.STRAIGHT_THROUGH})),
    ("emergency", 0.2, _BREAKS_OUT_OF | _TO_A_POINT),
    ("intention", 1.0, _DOWNWIND | {Leg.FINAL_TURN}),
    (LOST_RADIO, 0.3, _BREAKS_OUT_OF),
    (STAYS_OUTSIDE, 2.0, frozenset({Leg.DEPARTURE})),
    ("crosswind", 1.0, frozenset({Leg.CROSSWIND})),
    ("outside_downwind", 1.0, frozenset({Leg.OUTSIDE_DOWNWIND})),
    ("ninety_to_initial", 1.0, frozenset({Leg.NINETY_TO_INITIAL})),
    ("forty_five_to_initial", 1.0, frozenset({Leg.FORTY_FIVE_TO_INITIAL})),
    ("closed_downwind", 0.5, frozenset({Leg.CLOSED_DOWNWIND})),
)
"""Call, weight, and the legs on which it makes sense (our own choice)."""
_SOONEST_S, _LATEST_S = 2.0, 25.0
"""After the leg was entered."""


@dataclass(frozen=True)
class Wish:
    """`call` at second `at`, if the leg entered at `leg_since` is still being flown."""

    call: str
    at: float
    leg_since: float


def wish(leg: Leg, since: float, rate: float, rng: random.Random) -> Wish | None:
    """What the pilot wants on this leg; mostly nothing."""
    if rate <= 0.0 or rng.random() >= rate:
        return None
    there = [(call, weight) for call, weight, legs in _WISHES if leg in legs]
    if not there:
        return None
    (call,) = rng.choices([call for call, _ in there], [weight for _, weight in there])
    return Wish(call, since + rng.uniform(_SOONEST_S, _LATEST_S), since)


def wished_call(aircraft: "Aircraft", now: float) -> str | None:
    """The call that a wish leads to now, once; the plan of the aircraft changes with it."""
    wanted = aircraft.wish
    if wanted is None or now < wanted.at or not aircraft.contact:
        return None
    aircraft.wish = None
    if wanted.leg_since != aircraft.flight.leg_since:
        return None
    if wanted.call == STAYS_OUTSIDE:
        aircraft.has_made("request_closed")
        return None
    if wanted.call == LOST_RADIO:
        aircraft.deaf_until = now + _SILENT_S
        return None
    if wanted.call in ("emergency", "intention"):
        aircraft.circuits = (*aircraft.circuits[: aircraft.approach], "full_stop")
    if wanted.call == "emergency":
        aircraft.emergency = True
    return wanted.call


def sees_room(call: str, callsign: str, picture: Picture) -> bool:
    """A pilot looks before he turns: nobody is in the way of what he will do of his own accord."""
    if call == "breaking_out":
        tried = freest_breakout(callsign, picture).tried
    elif call == "climbing_out":
        point, up = nearest_point(picture.flights[callsign], picture), picture.field.breakout_altitude_ft
        tried = attempt(callsign, picture, lambda course, t: course.climb_out(t, float(up), point))
    elif call in _FLOWN_AT_ONCE:
        tried = attempt(callsign, picture, _FLOWN_AT_ONCE[call])
    else:
        return True
    return tried is not None and tried.is_free(picture)


_FLOWN_AT_ONCE: dict[str, Callable[[Course, float], None]] = {
    "going_around": lambda course, t: course.go_around(t),
    "straight_through": lambda course, t: course.straight_through(t),
}
"""What is flown as soon as it is said."""
