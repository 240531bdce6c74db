"""Who comes to fly in the pattern, when, and what he wants: drawn from a seed, at so many an hour."""

import random
from dataclasses import dataclass
from typing import Literal

from trainer.pattern.profiles import PROFILES, Profile

Arrival = Literal["inbound", "initial", "straight_in", "departure"]

CALLSIGN_WORDS = ("SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE")
_ARRIVALS: tuple[Arrival, ...] = ("inbound", "initial", "straight_in", "departure")
_SHARES = (50, 15, 15, 20)
_GOES = ("touch_and_go", "touch_and_go", "touch_and_go", "low_approach", "stop_and_go", "option")
_MOST_CIRCUITS = 5
_EMERGENCY_SHARE = 0.02
"""All of these shares are our own choice: every kind of arrival occurs in an hour of ten."""


@dataclass(frozen=True)
class Visitor:
    """One aircraft to come: `at` session seconds, `via` an entry point, `circuits` what it does on each
    approach; it leaves by the crosswind after the last, unless that is a full stop.

    Of a demand that changes it comes only at this `level` of difficulty and above, 0 to 100.
    """

    callsign: str
    profile: Profile
    arrives: Arrival
    via: str
    at: float
    circuits: tuple[str, ...]
    altitude_ft: int
    emergency: bool = False
    level: float = 0.0


def demand(
    per_hour: float, hours: float, seed: int, points: tuple[str, ...], taken: tuple[str, ...] = ()
) -> tuple[Visitor, ...]:
    """Independent arrivals at this rate; every class of aircraft. `taken` callsigns are left to others."""
    if per_hour <= 0.0:
        return ()
    rng = random.Random(seed)
    visitors: list[Visitor] = []
    names = set(taken)
    at = rng.expovariate(per_hour / 3600.0) / 4.0  # the first comes soon
    while at < hours * 3600.0:
        callsign = f"{rng.choice(CALLSIGN_WORDS)} {rng.randrange(11, 99)}"
        if callsign in names:
            continue
        names.add(callsign)
        emergency = rng.random() < _EMERGENCY_SHARE
        arrives: Arrival = "straight_in" if emergency else rng.choices(_ARRIVALS, _SHARES)[0]
        goes = rng.choices(_GOES, k=rng.randrange(0, _MOST_CIRCUITS))
        if arrives == "straight_in":
            goes = goes[:1] if not emergency else []
        visitors.append(
            Visitor(
                callsign=callsign,
                profile=PROFILES[rng.choice(sorted(PROFILES))],
                arrives=arrives,
                via=rng.choice(sorted(points)),
                at=at,
                circuits=(*goes, "full_stop"),
                altitude_ft=rng.randrange(3, 6) * 1000 + 500,
                emergency=emergency,
            )
        )
        at += rng.expovariate(per_hour / 3600.0)
    return tuple(visitors)
