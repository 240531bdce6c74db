"""How close aircraft really came: measured on the flights themselves, not on what was foreseen."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import combinations

from trainer.pattern.flight import Flight, Position
from trainer.pattern.leg import Leg
from trainer.traffic.outlook import LEVELS_APART_FT, ON_THE_GROUND


@dataclass(frozen=True)
class Nearest:
    """The closest of one pair: NM apart at second `at`, each on its leg.

    `obeying`: neither had just missed or mistaken a message.
    """

    nm: float
    at: float
    one: str
    other: str
    legs: tuple[Leg, Leg]
    obeying: bool


class SeparationWatch:
    """Keeps the closest of each pair of airborne aircraft at about one level, obeying or not.

    `within_nm`: pairs further apart are not kept.
    """

    def __init__(self, within_nm: float = 3.0) -> None:
        self._within_nm = within_nm
        self._pairs: dict[tuple[str, str, bool], Nearest] = {}

    def look(self, now: float, flights: Mapping[str, Flight], astray: Collection[str] = ()) -> None:
        """Measure all pairs at this second, which lies on the present leg of each."""
        airborne: list[tuple[str, Flight, Position]] = [
            (name, flight, flight.position(max(now, flight.now)))
            for name, flight in sorted(flights.items())
            if flight.leg not in ON_THE_GROUND
        ]
        for (one, first, here), (other, second, there) in combinations(airborne, 2):
            if abs(here.altitude_ft - there.altitude_ft) >= LEVELS_APART_FT:
                continue
            nm = math.hypot(here.x_nm - there.x_nm, here.y_nm - there.y_nm)
            obeying = one not in astray and other not in astray
            known = self._pairs.get((one, other, obeying))
            if nm < self._within_nm and (known is None or nm < known.nm):
                legs = (first.leg, second.leg)
                self._pairs[one, other, obeying] = Nearest(nm, now, one, other, legs, obeying)

    def nearest(self, *, obeying: bool = True) -> Nearest | None:
        """The closest of all pairs that obeyed, or of those with one astray."""
        pairs = [pair for pair in self._pairs.values() if pair.obeying is obeying]
        return min(pairs, key=lambda pair: pair.nm, default=None)

    def nearer_than(self, nm: float) -> list[Nearest]:
        """All pairs that came nearer, whether obeying or not, the closest first."""
        return sorted((pair for pair in self._pairs.values() if pair.nm < nm), key=lambda pair: pair.nm)
