"""Where each of the pilot's calls belongs on the present leg, as a window of session time.

The places are the trade's (common practice; CNATRA P-806 for what the gear report is); the windows
around them are this trainer's own. Distances before a place are miles flown through the air.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from trainer.pattern.flight import Flight
from trainer.pattern.flying import Flying
from trainer.pattern.leg import Leg
from trainer.pattern.legs import leg_path

_CHECK_IN_DUE_NM = 1.0
_BEFORE_NM = 0.5
"""How far before its place a report may come: the point, or the distance on initial."""
_FINAL_REPORT_S = 20.0
"""A straight-in's report is still in place this long after its distance."""
_HOLDING_REPORT_S = 30.0
"""A report of the point is still in place this long after reaching it."""


@dataclass(frozen=True)
class Window:
    """`call` may be made from `opens_at_s`, is expected at `due_at_s`, and is late after `closes_at_s`."""

    call: str
    opens_at_s: float
    due_at_s: float
    closes_at_s: float


def windows(flight: Flight) -> list[Window]:
    """The calls that belong on the flight's present leg, in the order in which they fall due."""
    make = _WINDOWS.get(flight.leg)
    return sorted(make(flight), key=lambda window: window.due_at_s) if make else []


def _when_x(flight: Flight, x_nm: float) -> float:
    """When the leg passes this x; when it begins if that lies behind its beginning; else when it ends."""
    when = flight.path.when_at_x(x_nm)
    if when is not None:
        return when
    pose = flight.path.track.at(0.0)
    passed = (x_nm - pose.x_nm) * math.cos(pose.direction) <= 0.0
    return flight.path.starts_at if passed else flight.path.ends_at


def _window(call: str, opens: float, due: float, closes: float) -> Window:
    due = min(due, closes)
    return Window(call, min(opens, due), due, closes)


def _inbound(flight: Flight) -> list[Window]:
    path = flight.path
    if _cleared_on(flight):
        return []
    before_point = path.when_at_distance(max(path.track.length - _BEFORE_NM, 0.0))
    due = path.when_at_distance(_CHECK_IN_DUE_NM)
    return [_window("check_in", flight.leg_since, due, before_point), *_reaching_the_point(flight)]


def _cleared_on(flight: Flight) -> bool:
    """It knows already where to go from the point, and passes it without a word."""
    return flight.clearances.proceed_initial or flight.clearances.straight_in


def _reaching_the_point(flight: Flight) -> list[Window]:
    if _cleared_on(flight):
        return []
    path = flight.path
    opens = path.when_at_distance(max(path.track.length - _BEFORE_NM, 0.0))
    return [_window("entry_point", opens, path.ends_at, path.ends_at + _HOLDING_REPORT_S)]


def _at_the_point(flight: Flight) -> list[Window]:
    since = flight.leg_since
    return [_window("entry_point", since, since, since + _HOLDING_REPORT_S)]


def _initial(flight: Flight) -> list[Window]:
    plan = flight.plan
    report = flight.geometry.report_x_nm
    closes = _when_x(flight, plan.break_x_nm("threshold") - _BEFORE_NM)
    return [_window("initial", _when_x(flight, report - _BEFORE_NM), _when_x(flight, report), closes)]


def _break_turn(flight: Flight) -> list[Window]:
    if "break_report" not in flight.clearances.asked_reports:
        return []
    ends = flight.path.ends_at
    quarter = flight.leg_since + (ends - flight.leg_since) / 4.0
    return [_window("break_report", flight.leg_since, quarter, ends)]


def _downwind(flight: Flight) -> list[Window]:
    perch = _when_x(flight, flight.geometry.perch_x_nm)
    motion = flight.path.at(flight.path.ends_at)
    turning = Flying(flight.geometry, flight.clearances, motion, flight.path.ends_at, flight.via)
    final_turn, _ = leg_path(Leg.FINAL_TURN, turning)
    closes = flight.path.ends_at + final_turn.speeds.duration / 3.0
    return [_window("gear_report", _when_x(flight, 0.0), perch, closes)]


def _final_turn(flight: Flight) -> list[Window]:
    third = flight.path.starts_at + flight.path.speeds.duration / 3.0
    return [_window("gear_report", flight.leg_since, flight.leg_since, third)]


def _straight_in(flight: Flight) -> list[Window]:
    """Its report is due where this leg ends: calls of a straight-in are distances on final (CP)."""
    due = flight.path.ends_at
    opens = flight.path.when_at_distance(max(flight.path.track.length - _BEFORE_NM, 0.0))
    return [_window("final", opens, due, due + _FINAL_REPORT_S)]


def _final(flight: Flight) -> list[Window]:
    since = flight.leg_since
    return [_window("final", since, since, since + _FINAL_REPORT_S)] if flight.clearances.straight_in else []


def _departure(flight: Flight) -> list[Window]:
    if flight.clearances.closed_approved:
        return []
    due = _when_x(flight, flight.plan.length_nm)
    return [_window("request_closed", flight.leg_since, due, flight.path.ends_at)]


def _outside_downwind(flight: Flight) -> list[Window]:
    if "outside_downwind" not in flight.clearances.asked_reports:
        return []
    length = flight.plan.length_nm
    return [
        _window(
            "outside_downwind",
            _when_x(flight, length),
            _when_x(flight, length / 2.0),
            _when_x(flight, 0.0),
        )
    ]


_WINDOWS: dict[Leg, Callable[[Flight], list[Window]]] = {
    Leg.INBOUND: _inbound,
    Leg.BREAKOUT: _reaching_the_point,
    Leg.CLIMB_OUT: _reaching_the_point,
    Leg.ENTRY_POINT: _at_the_point,
    Leg.INITIAL: _initial,
    Leg.BREAK_TURN: _break_turn,
    Leg.INSIDE_DOWNWIND: _downwind,
    Leg.CLOSED_DOWNWIND: _downwind,
    Leg.FINAL_TURN: _final_turn,
    Leg.STRAIGHT_IN: _straight_in,
    Leg.FINAL: _final,
    Leg.DEPARTURE: _departure,
    Leg.OUTSIDE_DOWNWIND: _outside_downwind,
}
