"""The formulas of flight against published or independently computed values.

The source stands beside each check. "computed" is the closed formula worked out outside of this
program; "from memory" marks a book that was not at hand.
"""

import math

import pytest
from ambiance import Atmosphere  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from trainer.pattern.kinematics import (
    bank_for_radius_deg,
    density_ratio,
    glide_path_ft,
    glide_path_nm,
    load_factor,
    true_airspeed_kt,
    turn_radius_nm,
    turn_rate_deg_s,
    wind_components_kt,
)
from trainer.pattern.path import evenly_to_speed
from trainer.pattern.track import Pose
from trainer.pattern.wind import Wind

FEET_PER_NM = 1852.0 / 0.3048
EARTH_RADIUS_M = 6_356_766.0  # ICAO Doc 7488, for geopotential height


@pytest.mark.parametrize(("bank_deg", "n"), [(30, 1.155), (45, 1.414), (60, 2.000), (70, 2.924)])
def test_load_factor_of_a_level_turn(bank_deg: float, n: float) -> None:
    """Computed, 1/cos bank; Pilot's Handbook of Aeronautical Knowledge ch. 5, from memory. +-0.001."""
    assert load_factor(bank_deg) == pytest.approx(n, abs=0.001)


@pytest.mark.parametrize(
    ("true_kt", "bank_deg", "radius_ft"),
    [
        (120, 30, 2_208),  # computed
        (120, 30, 2_215),  # the Handbook's own figure, from its rounded constants; from memory
        (240, 30, 8_861),  # the Handbook, from memory
        (200, 60, 2_045),  # computed
    ],
)
def test_radius_in_feet(true_kt: float, bank_deg: float, radius_ft: float) -> None:
    """Tolerance 0.5 %, which covers the Handbook's rounded constants."""
    assert turn_radius_nm(true_kt, bank_deg) * FEET_PER_NM == pytest.approx(radius_ft, rel=0.005)


@pytest.mark.parametrize(
    ("true_kt", "bank_deg", "diameter_nm"),
    [(200, 60, 0.673), (200, 45, 1.166), (300, 60, 1.514), (300, 70, 0.955), (110, 30, 0.611)],
)
def test_diameter_in_miles(true_kt: float, bank_deg: float, diameter_nm: float) -> None:
    """Computed, 2 V^2 / (g tan bank). +-0.001 NM."""
    assert 2.0 * turn_radius_nm(true_kt, bank_deg) == pytest.approx(diameter_nm, abs=0.001)


@pytest.mark.parametrize(
    ("true_kt", "bank_deg", "seconds"),
    [(120, 30, 34.3), (200, 60, 19.0), (200, 45, 33.0), (300, 70, 18.0), (110, 30, 31.4)],
)
def test_time_for_half_a_turn(true_kt: float, bank_deg: float, seconds: float) -> None:
    """Computed. +-0.06 s, the rounding of the values."""
    assert 180.0 / turn_rate_deg_s(true_kt, bank_deg) == pytest.approx(seconds, abs=0.06)


def test_rate_of_turn() -> None:
    """5.255 degrees a second computed; 5.25 in the Handbook, from memory. 0.5 %."""
    assert turn_rate_deg_s(120, 30) == pytest.approx(5.255, abs=0.001)
    assert turn_rate_deg_s(120, 30) == pytest.approx(5.25, rel=0.005)


@pytest.mark.parametrize(
    ("altitude_ft", "ratio"), [(2_000, 0.9428), (3_000, 0.9151), (4_000, 0.8881), (5_000, 0.8617)]
)
def test_density_ratio(altitude_ft: float, ratio: float) -> None:
    """A table of the standard atmosphere. +-0.0001."""
    assert density_ratio(altitude_ft) == pytest.approx(ratio, abs=0.0001)


@pytest.mark.parametrize("altitude_ft", [-1_000, 0, 1_180, 2_700, 10_000, 30_000])
def test_density_ratio_against_an_independent_atmosphere(altitude_ft: float) -> None:
    """The `ambiance` package (ICAO 1993), which takes geometric heights. 0.001 %."""
    geopotential_m = altitude_ft * 0.3048
    geometric_m = EARTH_RADIUS_M * geopotential_m / (EARTH_RADIUS_M - geopotential_m)
    theirs = Atmosphere(geometric_m).density[0] / Atmosphere(0.0).density[0]
    assert density_ratio(altitude_ft) == pytest.approx(theirs, rel=1e-5)


@pytest.mark.parametrize(
    ("calibrated_kt", "altitude_ft", "true_kt"),
    [
        (200, 2_000, 205.8),
        (200, 3_000, 208.8),
        (200, 5_000, 215.0),
        (120, 2_000, 123.6),
        (120, 3_000, 125.4),
        (120, 5_000, 129.2),
    ],
)
def test_true_airspeed(calibrated_kt: float, altitude_ft: float, true_kt: float) -> None:
    """Computed. +-0.5 kt."""
    assert true_airspeed_kt(calibrated_kt, altitude_ft) == pytest.approx(true_kt, abs=0.5)


@given(st.floats(60, 350))
def test_true_is_calibrated_at_sea_level(calibrated_kt: float) -> None:
    """By definition of calibrated airspeed."""
    assert true_airspeed_kt(calibrated_kt, 0.0) == pytest.approx(calibrated_kt)


@given(st.floats(60, 120), st.floats(0, 5_000))
def test_slow_flight_agrees_with_the_incompressible_formula(calibrated_kt: float, altitude_ft: float) -> None:
    """V / sqrt(density ratio), which holds where compressibility does not matter. +-0.5 kt."""
    simple = calibrated_kt / math.sqrt(density_ratio(altitude_ft))
    assert true_airspeed_kt(calibrated_kt, altitude_ft) == pytest.approx(simple, abs=0.5)


def test_three_degrees_is_318_feet_a_mile() -> None:
    """TERPS, as quoted; computed. +-1 ft."""
    assert glide_path_ft(1.0) == pytest.approx(318, abs=1.0)


def test_300_feet_on_three_degrees_lies_at_0_94_miles() -> None:
    """Computed: why the two roll-out floors of the Pilot/Controller Glossary are separate. +-0.005 NM."""
    assert glide_path_nm(300.0) == pytest.approx(0.94, abs=0.005)
    assert glide_path_ft(0.25, angle_deg=11.2) == pytest.approx(300.0, abs=2.0)


@given(st.floats(60, 400), st.floats(5, 75))
def test_bank_for_a_radius_is_the_inverse(true_kt: float, bank_deg: float) -> None:
    assert bank_for_radius_deg(true_kt, turn_radius_nm(true_kt, bank_deg)) == pytest.approx(bank_deg)


@pytest.mark.parametrize(("off_deg", "along", "across"), [(40, 15.3, 12.9), (0, 20.0, 0.0), (90, 0.0, 20.0)])
def test_wind_components(off_deg: float, along: float, across: float) -> None:
    """Computed, cosine and sine; the table on every airfield's wind chart. 20 kt, +-0.05 kt."""
    head, from_right = wind_components_kt(310.0, 310.0 + off_deg, 20.0)
    assert (head, from_right) == pytest.approx((along, across), abs=0.05)
    tail, from_left = wind_components_kt(310.0, 130.0 - off_deg, 20.0)
    assert (tail, from_left) == pytest.approx((-along, across), abs=0.05)


@pytest.mark.parametrize(
    ("true_kt", "crosswind_kt", "crab_deg"), [(120, 12.0, 5.74), (120, 20.0, 9.59), (200, 20.0, 5.74)]
)
def test_crab_angle(true_kt: float, crosswind_kt: float, crab_deg: float) -> None:
    """Computed, arcsine of crosswind over airspeed; the one-in-sixty rule of dead reckoning gives
    6.0, 10.0 and 6.0 (from memory). +-0.01 degrees, and 5 % of the rule."""
    wind = Wind.of(360.0, 1, 90.0, crosswind_kt)
    crab = -math.degrees(wind.heading(0.0, true_kt))
    assert crab == pytest.approx(crab_deg, abs=0.01)
    assert crab == pytest.approx(60.0 * crosswind_kt / true_kt, rel=0.05)
    assert wind.ground_speed_kt(0.0, true_kt) == pytest.approx(math.sqrt(true_kt**2 - crosswind_kt**2))


@pytest.mark.parametrize("bank_deg", [20.0, 45.0, 60.0])
@pytest.mark.parametrize("wind", [(0.0, 0.0), (-15.0, 12.0), (5.0, -25.0)])
def test_a_turn_in_wind_against_a_stepped_integration(bank_deg: float, wind: tuple[float, float]) -> None:
    """An independent reckoning: heading turned by g tan bank / V, position summed over 200,000 steps of
    velocity in the air plus wind (midpoint rule). +-1e-6 NM."""
    true_kt, blowing = 200.0, Wind(*wind)
    rate = math.radians(turn_rate_deg_s(true_kt, bank_deg))
    start, goal = Pose(0.3, -0.2, 0.4), 0.4 + math.radians(150.0)
    heading, end = blowing.heading(start.direction, true_kt), blowing.heading(goal, true_kt)
    seconds, steps = (end - heading) / rate, 200_000
    width = seconds / steps
    x, y = start.x_nm, start.y_nm
    for step in range(steps):
        here = heading + rate * (step + 0.5) * width
        x += (true_kt * math.cos(here) + wind[0]) * width / 3600.0
        y += (true_kt * math.sin(here) + wind[1]) * width / 3600.0
    turned = blowing.turned(start, goal, 1, turn_radius_nm(true_kt, bank_deg), true_kt)
    assert (turned.x_nm, turned.y_nm) == pytest.approx((x, y), abs=1e-6)


@pytest.mark.parametrize("altitude_ft", [0, 1_180, 2_700, 5_000, 10_000])
@pytest.mark.parametrize("calibrated_kt", [105, 200, 300])
def test_true_airspeed_against_an_independent_atmosphere(calibrated_kt: float, altitude_ft: float) -> None:
    """By another way than the program's: impact pressure from calibrated airspeed with the `ambiance`
    package's pressure, density and speed of sound (ICAO 1993) in the isentropic formula. +-0.02 kt."""
    geopotential_m = altitude_ft * 0.3048
    here = Atmosphere(EARTH_RADIUS_M * geopotential_m / (EARTH_RADIUS_M - geopotential_m))
    sea = Atmosphere(0.0)
    speed = calibrated_kt * 1852.0 / 3600.0
    impact = sea.pressure[0] * ((1.0 + sea.density[0] * speed**2 / (7.0 * sea.pressure[0])) ** 3.5 - 1.0)
    true = math.sqrt(
        7.0 * here.pressure[0] / here.density[0] * ((impact / here.pressure[0] + 1.0) ** (2.0 / 7.0) - 1.0)
    )
    assert true_airspeed_kt(calibrated_kt, altitude_ft) == pytest.approx(true * 3600.0 / 1852.0, abs=0.02)


@pytest.mark.parametrize(
    ("true_kt", "miles", "seconds"), [(200, 3, 54), (200, 5, 90), (300, 3, 36), (300, 5, 60), (200, 2, 36)]
)
def test_time_along_initial(true_kt: float, miles: float, seconds: float) -> None:
    """Computed: what the report's distance leaves to the threshold. Exact."""
    assert evenly_to_speed(miles, true_kt, true_kt).duration == pytest.approx(seconds)
