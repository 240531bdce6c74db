"""The field's pattern for one runway end, as plain values in the runway-aligned plane."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from drills.field import Field
from trainer.pattern.errors import PatternError
from trainer.pattern.kinematics import FEET_PER_NM
from trainer.pattern.profiles import Profile
from trainer.pattern.wind import Wind

if TYPE_CHECKING:
    from trainer.pattern.geometry import Geometry

Side = Literal["left", "right"]
BreakPoint = Literal["threshold", "midfield", "departure_end"]

CROSSWIND_NM = 1.0
"""Past the departure end, where an aircraft without closed approval turns crosswind (CP)."""
EXTENSION_NM = 2.0
"""How much further an aircraft told to extend upwind goes (CP)."""
STRAIGHT_IN_NM = 2.0
"""How long a straight-in is established on the runway line before its report is due (CP)."""
BASE_LIMIT_NM = 5.0
"""How far an aircraft told to extend downwind goes past the perch before it turns by itself (CP)."""
ARRIVAL_NM = 3.0
"""How far outside the entry point an inbound aircraft begins: "10 mi or so" from the field (CP)."""


def steady_wind(wind: str) -> tuple[float, float]:
    """Degrees and knots of a wind as the tower has it; (0, 0) where it is calm or variable."""
    if wind == "calm":
        return 0.0, 0.0
    found = re.fullmatch(r"([0-9]{1,3}|variable)/([0-9]{1,3})(?:/[0-9]{1,3})?", wind)
    if not found or (found[1] != "variable" and int(found[1]) > 360):
        raise PatternError(f'no wind "{wind}": write direction and knots, as in 310/12, or calm')
    return (0.0, 0.0) if found[1] == "variable" else (float(found[1]), float(found[2]))


@dataclass(frozen=True)
class PatternPlan:
    """Bearings, and the heading, are in the field file's reference, from the runway's midpoint."""

    runway_end: str
    heading_deg: float
    length_nm: float
    side: Side
    elevation_ft: float
    overhead_altitude_ft: float
    conventional_altitude_ft: float
    breakout_altitude_ft: float
    outside_offset_nm: float
    initial_nm: float
    report_initial_nm: float
    points: Mapping[str, tuple[float, float]]
    """Bearing in degrees and distance in NM by name."""
    wind_from_deg: float = 0.0
    """Where the wind blows from, in the same reference."""
    wind_kt: float = 0.0

    @classmethod
    def of(cls, field: Field, runway_end: str, wind: str = "calm") -> "PatternPlan":
        """The plan for a runway end; `drills` raises its own error for an end that is not there.

        `wind` as the tower has it: "calm", "310/8", "310/8/15" with gusts, "variable/5". What is flown is
        the steady wind: gusts, and a variable direction, are said only.
        """
        runway = field.runway(runway_end)
        from_deg, kt = steady_wind(wind)
        return cls(
            runway_end=runway.end,
            heading_deg=runway.heading_deg,
            length_nm=runway.length_ft / FEET_PER_NM,
            side=runway.break_side,
            elevation_ft=field.elevation_ft,
            overhead_altitude_ft=field.overhead_altitude_ft,
            conventional_altitude_ft=field.conventional_altitude_ft,
            breakout_altitude_ft=field.breakout_altitude_ft,
            outside_offset_nm=field.outside_offset_nm,
            initial_nm=field.initial_nm,
            report_initial_nm=field.report_initial_nm,
            points={name: (point.bearing_deg, point.distance_nm) for name, point in field.points.items()},
            wind_from_deg=from_deg,
            wind_kt=kt,
        )

    def geometry(self, profile: Profile) -> "Geometry":
        """The sizes of this class's pattern here. A plan of another circuit overrides it."""
        from trainer.pattern.geometry import Geometry

        return Geometry(self, profile)

    @cached_property
    def wind(self) -> Wind:
        return Wind.of(self.heading_deg, self._towards, self.wind_from_deg, self.wind_kt)

    @property
    def length_ft(self) -> float:
        return self.length_nm * FEET_PER_NM

    @property
    def _towards(self) -> int:
        """Sign of the pattern's side seen along the landing direction: left is positive."""
        return 1 if self.side == "left" else -1

    def point(self, name: str, further_nm: float = 0.0) -> tuple[float, float]:
        """The entry point in the plane, or a place further out on the same bearing."""
        if name not in self.points:
            raise PatternError(f"no entry point {name!r} here; use one of {', '.join(sorted(self.points))}")
        bearing, distance = self.points[name]
        angle = math.radians(bearing - self.heading_deg)
        out = distance + further_nm
        return self.length_nm / 2.0 + out * math.cos(angle), -self._towards * out * math.sin(angle)

    def heading_of(self, direction: float) -> float:
        """Degrees, 0 to 360, in the reference of the runway's heading, of a direction in the plane."""
        return (self.heading_deg - self._towards * math.degrees(direction)) % 360.0

    def break_x_nm(self, where: BreakPoint) -> float:
        """Where along the runway a break at this point begins."""
        return {"threshold": 0.0, "midfield": self.length_nm / 2.0, "departure_end": self.length_nm}[where]

    @property
    def break_zone_nm(self) -> float:
        """End of the break zone, the first third of the runway (CP)."""
        return self.length_nm / 3.0
