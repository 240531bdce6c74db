"""Turns, airspeed, wind and glide path: the formulas, in the units of the trade.

Speeds are knots, distances NM, heights and altitudes feet, angles degrees, times seconds.
Altitude is pressure altitude in the standard atmosphere, below the tropopause.
"""

import math

STANDARD_GRAVITY_M_S2 = 9.80665
METRES_PER_NM = 1852.0
FEET_PER_NM = METRES_PER_NM / 0.3048
M_S_PER_KT = METRES_PER_NM / 3600.0

GLIDE_PATH_DEG = 3.0

# ICAO standard atmosphere (Doc 7488) at mean sea level, and its lapse rate in the troposphere.
_SEA_LEVEL_TEMPERATURE_K = 288.15
_SEA_LEVEL_PRESSURE_PA = 101_325.0
_LAPSE_K_PER_M = 0.0065
_GAS_CONSTANT_J_KG_K = 287.05287
_HEAT_RATIO = 1.4


def turn_radius_nm(true_airspeed_kt: float, bank_deg: float) -> float:
    """Radius of a level turn, V^2 / (g tan bank)."""
    speed = true_airspeed_kt * M_S_PER_KT
    return speed**2 / (STANDARD_GRAVITY_M_S2 * math.tan(math.radians(bank_deg))) / METRES_PER_NM


def bank_for_radius_deg(true_airspeed_kt: float, radius_nm: float) -> float:
    """Bank that flies this radius level: the inverse of `turn_radius_nm`."""
    speed = true_airspeed_kt * M_S_PER_KT
    return math.degrees(math.atan(speed**2 / (STANDARD_GRAVITY_M_S2 * radius_nm * METRES_PER_NM)))


def load_factor(bank_deg: float) -> float:
    """Load factor of a level turn, 1 / cos bank."""
    return 1.0 / math.cos(math.radians(bank_deg))


def turn_rate_deg_s(true_airspeed_kt: float, bank_deg: float) -> float:
    """Rate of a level turn, g tan bank / V."""
    speed = true_airspeed_kt * M_S_PER_KT
    return math.degrees(STANDARD_GRAVITY_M_S2 * math.tan(math.radians(bank_deg)) / speed)


def _temperature_ratio(altitude_ft: float) -> float:
    return 1.0 - _LAPSE_K_PER_M * altitude_ft * 0.3048 / _SEA_LEVEL_TEMPERATURE_K


def _pressure_ratio(altitude_ft: float) -> float:
    return float(
        _temperature_ratio(altitude_ft) ** (STANDARD_GRAVITY_M_S2 / (_GAS_CONSTANT_J_KG_K * _LAPSE_K_PER_M))
    )


def density_ratio(altitude_ft: float) -> float:
    """Density over its sea-level value."""
    return _pressure_ratio(altitude_ft) / _temperature_ratio(altitude_ft)


def true_airspeed_kt(calibrated_airspeed_kt: float, altitude_ft: float) -> float:
    """True airspeed from calibrated airspeed: subsonic compressible flow (isentropic, ratio of heats
    1.4), standard day (ICAO Doc 7488); the formula of any text on airspeeds, from memory."""
    sound_at_sea_level = math.sqrt(_HEAT_RATIO * _GAS_CONSTANT_J_KG_K * _SEA_LEVEL_TEMPERATURE_K)
    mach_at_sea_level = calibrated_airspeed_kt * M_S_PER_KT / sound_at_sea_level
    # Calibrated airspeed is an impact pressure over the static pressure at sea level; the same
    # impact pressure over the static pressure here gives the Mach number here.
    impact = (1.0 + 0.2 * mach_at_sea_level**2) ** 3.5 - 1.0
    mach = math.sqrt(5.0 * ((impact / _pressure_ratio(altitude_ft) + 1.0) ** (2.0 / 7.0) - 1.0))
    return mach * sound_at_sea_level * math.sqrt(_temperature_ratio(altitude_ft)) / M_S_PER_KT


def wind_components_kt(heading_deg: float, from_deg: float, wind_kt: float) -> tuple[float, float]:
    """Headwind, and crosswind from the right, of a wind from this direction; negative: tail, left."""
    angle = math.radians(from_deg - heading_deg)
    return wind_kt * math.cos(angle), wind_kt * math.sin(angle)


def glide_path_ft(distance_nm: float, angle_deg: float = GLIDE_PATH_DEG) -> float:
    """Height above the aiming point at this distance from it."""
    return distance_nm * FEET_PER_NM * math.tan(math.radians(angle_deg))


def glide_path_nm(height_ft: float, angle_deg: float = GLIDE_PATH_DEG) -> float:
    """Distance from the aiming point at which the path is this high: inverse of `glide_path_ft`."""
    return height_ft / FEET_PER_NM / math.tan(math.radians(angle_deg))
