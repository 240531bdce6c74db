"""How close aircraft really came: measured on the flights themselves, not on what was foreseen.

A pair is measured again only when it could have come closer than it was: a distance shrinks no faster
than the two can fly at each other.
"""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import combinations

from trainer.pattern.flight import Flight, Position
from trainer.pattern.leg import Leg
from trainer.traffic.outlook import LEVELS_APART_FT, ON_THE_GROUND

CLOSING_KT = 1200.0
"""No two come together faster: the fastest class flies 300 kt calibrated, in 30 kt of wind at most."""
_CLOSING_NM_S = CLOSING_KT / 3600.0


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
        self._no_closer_until: dict[tuple[Flight, Flight, bool], float] = {}

    def look(self, now: float, flights: Mapping[str, Flight], astray: Collection[str] = ()) -> None:
        """Measure all pairs at this second, which lies on the present leg of each."""
        airborne = [each for each in sorted(flights.items()) if each[1].leg not in ON_THE_GROUND]
        places: dict[str, Position] = {}
        for (one, first), (other, second) in combinations(airborne, 2):
            obeying = one not in astray and other not in astray
            if now < self._no_closer_until.get((first, second, obeying), now):
                continue
            for name, flight in ((one, first), (other, second)):
                if name not in places:
                    places[name] = flight.position(max(now, flight.now))
            here, there = places[one], places[other]
            nm = math.hypot(here.x_nm - there.x_nm, here.y_nm - there.y_nm)
            known = self._pairs.get((one, other, obeying))
            closest = min(self._within_nm, known.nm) if known else self._within_nm
            level = abs(here.altitude_ft - there.altitude_ft) < LEVELS_APART_FT
            if nm < closest and level:
                legs = (first.leg, second.leg)
                self._pairs[one, other, obeying] = Nearest(nm, now, one, other, legs, obeying)
            self._no_closer_until[first, second, obeying] = now + (nm - closest) / _CLOSING_NM_S

    def nearest(self, *, obeying: bool = True) -> Nearest | None:
        """The closest of all pairs that obeyed, or of those with one astray."""
        pairs = [pair for pair in self._pairs.values() if pair.obeying is obeying]
        return min(pairs, key=lambda pair: pair.nm, default=None)

    def nearer_than(self, nm: float) -> list[Nearest]:
        """All pairs that came nearer, whether obeying or not, the closest first."""
        return sorted((pair for pair in self._pairs.values() if pair.nm < nm), key=lambda pair: pair.nm)
