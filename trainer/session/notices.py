"""What the tower announces at a set second: drawn from a seed, or written by whoever makes the session.

Drawn is what comes of itself at a field: birds, wind shear in a strong wind, another altimeter setting.
"""

import random
from dataclasses import dataclass

from phraseology.elements import Kind
from phraseology.replies import ALL

NEXT = "NEXT"
"""For whoever is in contact and owes no answer."""
_AN_HOUR = 1.5
"""Announcements an hour (our own choice)."""
_SHEAR_FROM_KT = 15.0


@dataclass(frozen=True)
class Notice:
    """`reply` to `to`, a callsign, `ALL` or `NEXT`, from second `at` on.

    `on`, with `NEXT`, is the leg on which that one must be: it is waited for. `altimeter` is the setting from
    then on, four figures; it is said as the field's standard has it.
    """

    at: float
    reply: str
    fields: tuple[tuple[Kind, str], ...] = ()
    to: str = ALL
    altimeter: str | None = None
    on: str | None = None
    note: str = ""
    """The instructor's, for the debrief."""


def of_the_day(seed: int, hours: float, wind_kt: float, altimeter: str) -> tuple[Notice, ...]:
    """The announcements of a session of so many hours."""
    rng = random.Random(f"{seed} notices")
    found: list[Notice] = []
    setting = int(altimeter)
    at = rng.expovariate(_AN_HOUR / 3600.0)
    while at < hours * 3600.0:
        kinds = ["birds", "altimeter", *(["wind_shear"] if wind_kt >= _SHEAR_FROM_KT else [])]
        kind = rng.choice(kinds)
        if kind == "altimeter":
            setting += rng.choice((-3, -2, -1, 1, 2, 3))
            found.append(Notice(at, kind, altimeter=str(setting)))
        else:
            found.append(Notice(at, kind))
        at += rng.expovariate(_AN_HOUR / 3600.0)
    return tuple(found)


_SHUT = 0.1
"""Share of days on which an entry point is not to be had (our own choice)."""


def shut_today(seed: int, points: tuple[str, ...]) -> frozenset[str]:
    """The entry point that cannot be used, as in bad weather there; mostly none, and two are always left."""
    rng = random.Random(f"{seed} points")
    shut = rng.choice(sorted(points)) if rng.random() < _SHUT else None
    return frozenset({shut} if shut and len(points) > 2 else ())
