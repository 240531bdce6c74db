"""Position, elevation and name of an airport out of public data, and magnetic bearings from there.

The extra `patternvoice[airports]`: `airportsdata` (MIT) has positions and elevations but no runways,
`pygeomag` (MIT) computes the World Magnetic Model. Without the second the variation is asked for.
"""

import math
import re
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from typing import Any

from trainer.errors import TrainerError

EARTH_NM = 6371.0088 / 1.852
"""Mean radius of the Earth (IUGG), nautical miles: within half a per cent of the ellipsoid anywhere."""
_FEET_PER_KM = 3280.84
_COORDINATES = re.compile(r"(\S+)[ ,:]+([0-9.]+) ?([NS])[ ,:]+([0-9.]+) ?([EW])", re.IGNORECASE)


@dataclass(frozen=True)
class Airport:
    """`elevation_ft` above sea level; degrees, north and east positive."""

    code: str
    name: str
    elevation_ft: int
    latitude: float
    longitude: float


@dataclass(frozen=True)
class Variation:
    """`degrees` east positive; `source` says where it is from, for people."""

    degrees: float
    source: str

    def __str__(self) -> str:
        side = "E" if self.degrees >= 0 else "W"
        return f"{abs(self.degrees):.1f} {side} ({self.source})"


def find_airport(code: str) -> Airport:
    """The airport of this ICAO code; TrainerError for none of that code, or without the extra."""
    data: Any = _module("airportsdata")
    wanted = code.strip().upper()
    found = data.load("ICAO").get(wanted)
    if found is None:
        raise TrainerError(
            f'no airport has the ICAO code "{code}"', "write its four letters, or leave out --airport"
        )
    return Airport(wanted, found["name"], round(found["elevation"]), found["lat"], found["lon"])


def variation(airport: Airport, day: date) -> Variation | None:
    """By the World Magnetic Model; None where it is not installed, or not for that day."""
    try:
        pygeomag: Any = import_module("pygeomag")
    except ImportError:
        return None
    start = date(day.year, 1, 1)
    year = day.year + (day - start).days / (date(day.year + 1, 1, 1) - start).days
    try:
        model = pygeomag.GeoMag(base_year=day.year)
        found = model.calculate(
            glat=airport.latitude, glon=airport.longitude, alt=airport.elevation_ft / _FEET_PER_KM, time=year
        )
    except (ValueError, FileNotFoundError):  # the model of that day is not in the package
        return None
    return Variation(found.d, f"{model.model} on {day.isoformat()}")


def great_circle(from_: tuple[float, float], to: tuple[float, float]) -> tuple[float, float]:
    """True bearing at the start, 0 to 360 degrees, and nautical miles; (latitude, longitude) each."""
    (lat1, lon1), (lat2, lon2) = (tuple(map(math.radians, place)) for place in (from_, to))
    east = lon2 - lon1
    x = math.cos(lat2) * math.sin(east)
    y = math.cos(lat1) * math.sin(lat2) - math.sin(lat1) * math.cos(lat2) * math.cos(east)
    z = math.sin(lat1) * math.sin(lat2) + math.cos(lat1) * math.cos(lat2) * math.cos(east)
    return math.degrees(math.atan2(x, y)) % 360.0, EARTH_NM * math.atan2(math.hypot(x, y), z)


def has_coordinates(point: str) -> bool:
    """It is an entry point by position: "QUARRY 51.70N 1.25W"."""
    return _COORDINATES.fullmatch(point.strip()) is not None


def as_bearing(point: str, airport: Airport, magnetic: Variation) -> str:
    """An entry point by position as name, magnetic bearing and miles; TrainerError for no place on Earth."""
    found = _COORDINATES.fullmatch(point.strip())
    assert found, point
    try:
        place = (
            float(found[2]) * (1 if found[3].upper() == "N" else -1),
            float(found[4]) * (1 if found[5].upper() == "E" else -1),
        )
    except ValueError:
        place = (999.0, 999.0)
    if abs(place[0]) > 90 or abs(place[1]) > 180:
        raise TrainerError(f'"{point}" is no place on Earth', 'write degrees, as in "QUARRY 51.70N 1.25W"')
    bearing, miles = great_circle((airport.latitude, airport.longitude), place)
    return f"{found[1]} {round((bearing - magnetic.degrees) % 360.0, 1) % 360.0:g} {miles:.1f}"


def _module(name: str) -> Any:
    try:
        return import_module(name)
    except ImportError:
        raise TrainerError(
            f"the airports' data ({name}) is not installed",
            "pip install '.[airports]' in the clone of patternvoice",
        ) from None
