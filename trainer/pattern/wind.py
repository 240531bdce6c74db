"""The wind as a vector of the field's plane, and how air and ground lie to each other in it.

One steady wind for the whole pattern, from the ground up; gusts are not flown. An aircraft's velocity
over the ground is its velocity through the air plus the wind: along a straight leg it points off the
leg by the crab angle, and a turn of constant radius in the air is a trochoid on the ground.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from trainer.pattern.errors import PatternError
from trainer.pattern.kinematics import wind_components_kt
from trainer.pattern.track import Arc, Pose, sweep_to

MAX_WIND_KT = 30.0
"""Our own choice: at 35 kt a jet trainer no longer fits into the outside pattern of both bundled fields."""
_SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Wind:
    """Where the air goes: knots along the landing direction, and towards the pattern's side."""

    x_kt: float = 0.0
    y_kt: float = 0.0

    @classmethod
    def of(cls, heading_deg: float, towards: int, from_deg: float, kt: float) -> "Wind":
        """From what the tower says; `towards` is 1 where the pattern lies on the left, -1 on the right."""
        if not 0.0 <= kt <= MAX_WIND_KT:
            raise PatternError(f"a wind of {kt:g} kt cannot be flown: write 0 to {MAX_WIND_KT:g} kt")
        head_kt, from_right_kt = wind_components_kt(heading_deg, from_deg, kt)
        return cls(-head_kt, towards * from_right_kt)

    @cached_property
    def calm(self) -> bool:
        return self.x_kt == 0.0 and self.y_kt == 0.0

    @property
    def direction(self) -> float:
        """Where the air goes, as a direction of the plane."""
        return math.atan2(self.y_kt, self.x_kt)

    @property
    def speed_kt(self) -> float:
        return math.hypot(self.x_kt, self.y_kt)

    def carried_nm(self, seconds: float) -> tuple[float, float]:
        """How far the air moves in this time."""
        return self.x_kt * seconds / _SECONDS_PER_HOUR, self.y_kt * seconds / _SECONDS_PER_HOUR

    def _across_kt(self, direction: float) -> float:
        return self.y_kt * math.cos(direction) - self.x_kt * math.sin(direction)

    def heading(self, direction: float, true_kt: float) -> float:
        """The heading that holds this direction over the ground at this true airspeed."""
        return direction - math.asin(self._across_kt(direction) / true_kt)

    def ground_speed_kt(self, direction: float, true_kt: float) -> float:
        """The speed over the ground of an aircraft that holds this direction."""
        along = self.x_kt * math.cos(direction) + self.y_kt * math.sin(direction)
        return along + math.sqrt(true_kt**2 - self._across_kt(direction) ** 2)

    def through_air(self, direction: float, ground_kt: float) -> tuple[float, float]:
        """Heading and true airspeed of an aircraft that moves so over the ground."""
        if self.calm:
            return direction, ground_kt
        x = ground_kt * math.cos(direction) - self.x_kt
        y = ground_kt * math.sin(direction) - self.y_kt
        return math.atan2(y, x), math.hypot(x, y)

    def over_ground(self, heading: float, true_kt: float) -> tuple[float, float]:
        """Direction and ground speed: the inverse of `through_air`."""
        x = true_kt * math.cos(heading) + self.x_kt
        y = true_kt * math.sin(heading) + self.y_kt
        return math.atan2(y, x), math.hypot(x, y)

    def turned(self, start: Pose, direction: float, turn: int, radius_nm: float, true_kt: float) -> Pose:
        """Where a turn of this radius in the air, at a constant airspeed, comes out over the ground."""
        heading = self.heading(start.direction, true_kt)
        sweep = sweep_to(turn, heading, self.heading(direction, true_kt))
        arc = Arc(Pose(start.x_nm, start.y_nm, heading), radius_nm, turn, sweep)
        end = arc.at(arc.length)
        x, y = self.carried_nm(arc.length / true_kt * _SECONDS_PER_HOUR)
        return Pose(end.x_nm + x, end.y_nm + y, direction)


CALM = Wind()
