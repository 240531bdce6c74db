"""One class's pattern at one field in one wind, as figures: what is flown on each leg, where, how long.

Nothing is worked out here a second time: one flight is sent round, once by the closed pattern and once
by the outside, and its paths are read off.
"""

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

from trainer.pattern.flight import Flight
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import FEET_PER_NM, bank_for_radius_deg, load_factor, wind_components_kt
from trainer.pattern.leg import Leg
from trainer.pattern.path import Path
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import Profile
from trainer.pattern.track import Arc

_SAMPLES_S = 0.5
_ROUNDS = 24
"""More legs than once round by closed and once by the outside."""


@dataclass(frozen=True)
class LegFigures:
    """One leg over the ground; bank, g and radius (in the air) are of its hardest turn, None without one."""

    leg: Leg
    length_nm: float
    seconds: float
    begin_altitude_ft: float
    end_altitude_ft: float
    begin_ground_kt: float
    end_ground_kt: float
    radius_nm: float | None
    bank_deg: float | None
    load_factor: float | None
    places: tuple[tuple[float, float], ...]
    """Where it runs in the runway-aligned plane, NM, every half second and at the end."""


@dataclass(frozen=True)
class PatternFigures:
    """Distances NM, speeds knots, heights feet above the field; the perch is measured from the threshold."""

    runway: str
    side: str
    aircraft: str
    wind_from_deg: float
    wind_kt: float
    headwind_kt: float
    crosswind_from_right_kt: float
    initial_true_kt: float
    break_zone_ft: float
    downwind_offset_nm: float
    perch_back_nm: float
    perch_angle_deg: float
    """Of the threshold behind abeam, seen from the perch: 45 by the usual rule, without wind."""
    final_nm: float
    roll_out_height_ft: float
    short_final_nm: float
    short_perch_back_nm: float
    report_to_threshold_s: float
    outside_offset_nm: float
    legs: tuple[LegFigures, ...]

    def leg(self, leg: Leg) -> LegFigures:
        """Raises KeyError for a leg that a plain circuit does not have."""
        for each in self.legs:
            if each.leg is leg:
                return each
        raise KeyError(leg)

    def as_json(self) -> dict[str, Any]:
        """Plain values, without the places; numbers rounded to what they are good for."""
        out: dict[str, Any] = {}
        for key, value in asdict(self).items():
            out[key] = _rounded(value) if key != "legs" else [_leg_as_json(each) for each in self.legs]
        return out


def _rounded(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else value


def _leg_as_json(leg: LegFigures) -> dict[str, Any]:
    return {key: _rounded(value) for key, value in asdict(leg).items() if key != "places"}


def figures(plan: PatternPlan, profile: Profile) -> PatternFigures:
    """The pattern of this class; `PatternError` if it does not fit the field."""
    geometry = Geometry(plan, profile)
    head, from_right = wind_components_kt(plan.heading_deg, plan.wind_from_deg, plan.wind_kt)
    legs = _legs(plan, profile)
    roll_out = next(each for each in legs if each.leg is Leg.FINAL)
    return PatternFigures(
        runway=plan.runway_end,
        side=plan.side,
        aircraft=profile.name,
        wind_from_deg=plan.wind_from_deg,
        wind_kt=plan.wind_kt,
        headwind_kt=head,
        crosswind_from_right_kt=from_right,
        initial_true_kt=geometry.true_kt(profile.initial_kt),
        break_zone_ft=plan.break_zone_nm * FEET_PER_NM,
        downwind_offset_nm=geometry.downwind_offset_nm,
        perch_back_nm=-geometry.perch_x_nm,
        perch_angle_deg=math.degrees(math.atan2(-geometry.perch_x_nm, geometry.downwind_offset_nm)),
        final_nm=-roll_out.places[0][0],
        roll_out_height_ft=roll_out.begin_altitude_ft - plan.elevation_ft,
        short_final_nm=geometry.short_roll_out_nm,
        short_perch_back_nm=-geometry.short_perch_x_nm,
        report_to_threshold_s=_report_to_threshold_s(plan, profile),
        outside_offset_nm=plan.outside_offset_nm,
        legs=legs,
    )


def _report_to_threshold_s(plan: PatternPlan, profile: Profile) -> float:
    path = Flight(plan, profile, start=Leg.INITIAL, at=0.0).path
    report, threshold = path.when_at_x(-plan.report_initial_nm), path.when_at_x(0.0)
    assert report is not None  # initial begins before its report
    assert threshold is not None  # and ends behind the threshold
    return threshold - report


def _legs(plan: PatternPlan, profile: Profile) -> tuple[LegFigures, ...]:
    """The first of each leg in the order flown; of the departure leg also the one that ends crosswind."""
    flown: list[LegFigures] = []
    for leg, path in round_trip(plan, profile):
        again = leg is Leg.DEPARTURE and any(each.leg is Leg.CLOSED_PULL_UP for each in flown)
        if again or all(each.leg is not leg for each in flown):
            flown.append(_figures_of(leg, path))
    return tuple(flown)


def round_trip(plan: PatternPlan, profile: Profile) -> Iterator[tuple[Leg, Path]]:
    """Every leg as flown: from initial once round by closed, then by the outside, to the 45 to initial."""
    flight = Flight(plan, profile, start=Leg.INITIAL, at=0.0)
    closed = False
    for _ in range(_ROUNDS):
        if flight.leg is Leg.INITIAL:
            flight.approve_break(flight.now)
        if flight.leg is Leg.FINAL:
            flight.clear_landing(flight.now, "touch_and_go")
        if flight.leg is Leg.DEPARTURE and not closed:
            flight.approve_closed(flight.now)
            closed = True
        yield flight.leg, flight.path
        if flight.leg is Leg.FORTY_FIVE_TO_INITIAL:
            break
        flight.advance(flight.path.ends_at)


def _figures_of(leg: Leg, path: Path) -> LegFigures:
    seconds = path.ends_at - path.starts_at
    steps = max(math.ceil(seconds / _SAMPLES_S), 1)
    poses = [path.at(path.starts_at + seconds * step / steps).pose for step in range(steps + 1)]
    begin, end = path.at(path.starts_at), path.at(path.ends_at)
    bank, radius = max(_turns(path), default=(None, None))
    return LegFigures(
        leg=leg,
        length_nm=sum(one.distance_to(other) for one, other in pairwise(poses)),
        seconds=seconds,
        begin_altitude_ft=begin.altitude_ft,
        end_altitude_ft=end.altitude_ft,
        begin_ground_kt=begin.speed_kt,
        end_ground_kt=end.speed_kt,
        radius_nm=radius,
        bank_deg=bank,
        load_factor=None if bank is None else load_factor(bank),
        places=tuple((pose.x_nm, pose.y_nm) for pose in poses),
    )


def _turns(path: Path) -> list[tuple[float, float]]:
    """Bank and radius of each turn where it is fastest."""
    turns, begin = [], 0.0
    for segment in path.track.segments:
        end = begin + segment.length
        if isinstance(segment, Arc) and segment.sweep > math.radians(1.0):
            fastest = max(path.speeds.at(path.speeds.second(nm)) for nm in (begin, end))
            turns.append((bank_for_radius_deg(fastest, segment.radius), segment.radius))
        begin = end
    return turns
