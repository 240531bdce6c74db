"""What a drill leaves free, drawn from the seed: weather, letter, entry point, altitude, call sign.

The same seed draws the same; each part has its own stream, so that writing one out leaves the others.
"""

import math
import random
from dataclasses import dataclass

from drills.drill import Drill
from drills.field import Field
from phraseology.phrases import LETTERS
from trainer.tower.picture import HECTOPASCALS_AN_INCH

MOST_WIND_KT = 12
MOST_OFF_THE_RUNWAY_DEG = 60
"""A drawn wind is one for which this runway would be in use (both our own choice)."""


@dataclass(frozen=True)
class Drawn:
    """`altimeter` is inches of mercury times 100, `wind` as the tower has it."""

    callsign: str
    entry_point: str
    altitude_ft: int
    atis: str
    wind: str
    altimeter: str

    @classmethod
    def of(cls, drill: Drill, field: Field, seed: int) -> "Drawn":
        def dice(what: str) -> random.Random:
            return random.Random(f"{seed} {what}")

        given = drill.altimeter or f"{dice('altimeter').randrange(2970, 3030) / 100:.2f}"
        lowest = field.overhead_altitude_ft + 500
        return cls(
            callsign=dice("callsign").choice(drill.callsigns),
            entry_point=drill.entry_point or dice("entry point").choice(sorted(field.points)),
            altitude_ft=drill.altitude_ft
            or 500 * dice("altitude").randrange(math.ceil(lowest / 500), math.ceil(lowest / 500) + 4),
            atis=drill.atis or dice("atis").choice(LETTERS),
            wind=drill.wind or _wind(field.runway(drill.runway).heading_deg, dice("wind")),
            altimeter=hundredths(given),
        )


def hundredths(setting: str) -> str:
    """Hundredths of an inch, of "29.92" or of a QNH such as "1013": the least that is read as this QNH."""
    if "." in setting:
        return setting.replace(".", "")
    return str(math.ceil(int(setting) / HECTOPASCALS_AN_INCH * 100.0))


def _wind(heading_deg: float, dice: random.Random) -> str:
    speed = dice.randrange(0, MOST_WIND_KT + 1)
    off = dice.randrange(-MOST_OFF_THE_RUNWAY_DEG, MOST_OFF_THE_RUNWAY_DEG + 1, 10)
    towards = round((heading_deg + off) / 10.0) * 10 % 360 or 360
    return "calm" if speed < 3 else f"{towards:03d}/{speed}"
