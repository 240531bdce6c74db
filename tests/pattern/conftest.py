"""Corbel Field's runway 31, the plan that these tests fly."""

from dataclasses import replace

import pytest

from trainer.pattern.plan import PatternPlan

CORBEL_31 = PatternPlan(
    runway_end="31",
    heading_deg=310.0,
    length_nm=9000.0 * 0.3048 / 1852.0,
    side="left",
    elevation_ft=1180.0,
    overhead_altitude_ft=2700.0,
    conventional_altitude_ft=2200.0,
    breakout_altitude_ft=3700.0,
    outside_offset_nm=2.5,
    initial_nm=5.0,
    report_initial_nm=3.0,
    points={"QUARRY": (270.0, 8.0), "SILO": (45.0, 7.0), "WEIR": (135.0, 9.0)},
)


@pytest.fixture(scope="session")
def corbel() -> PatternPlan:
    return CORBEL_31


@pytest.fixture(scope="session", params=["31", "13"])
def either_end(request: pytest.FixtureRequest) -> PatternPlan:
    if request.param == "31":
        return CORBEL_31
    return replace(CORBEL_31, runway_end="13", heading_deg=130.0, side="right")
