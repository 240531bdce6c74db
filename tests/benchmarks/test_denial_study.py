"""The study of denials runs, counts what it says, and its rectangular pattern is flown as it is described."""

import math
from xml.etree import ElementTree

import pytest

from drills.check import load_field
from tests.benchmarks import denial_study
from tests.benchmarks.denial_plot import Line, plot
from tests.benchmarks.rectangular import RectangularPlan
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.profiles import PROFILES
from trainer.session.events import LegEntered, TowerSpoke


@pytest.mark.parametrize("aircraft", PROFILES)
def test_the_rectangular_circuit_is_rectangular(aircraft: str) -> None:
    plan = RectangularPlan.of(load_field("corbel"), "31")
    flight = Flight(plan, PROFILES[aircraft], start=Leg.INITIAL, at=0.0)
    flight.approve_break(0.0)
    courses: dict[Leg, list[float]] = {}
    before, heights = None, {}
    while flight.leg is not Leg.CLOSED_DOWNWIND:
        now = flight.now + 1.0
        for change in flight.advance(now):
            heights[change.leg] = flight.path.at(change.at).altitude_ft
        if flight.leg in (Leg.FINAL_TURN, Leg.FINAL):
            flight.clear_landing(now, "touch_and_go")
        if flight.leg is Leg.DEPARTURE:
            flight.approve_closed(now)
        here = flight.position(now)
        courses.setdefault(flight.leg, []).append(round((310.0 - here.track_deg) % 360.0))
        if before is not None and flight.leg is not Leg.RUNWAY:
            flown = math.hypot(here.x_nm - before.x_nm, here.y_nm - before.y_nm)
            assert flown * 3600.0 == pytest.approx(here.ground_speed_kt, abs=12.0), "it jumped"
        before = here
    assert set(courses[Leg.INITIAL]) == {225}, "45 degrees to the downwind"
    assert set(courses[Leg.INSIDE_DOWNWIND]) == {180}
    # A base and a crosswind are flown straight for a while, across the runway line.
    assert courses[Leg.FINAL_TURN].count(270) >= 2
    assert courses[Leg.CLOSED_PULL_UP].count(90) >= 2
    # AIM 4-3-2 (from memory): the crosswind turn is within 300 ft of the circuit's altitude.
    assert plan.conventional_altitude_ft - heights[Leg.CLOSED_PULL_UP] <= 300.0


def test_a_request_counts_once_by_the_last_word_on_it() -> None:
    def said(at: float, reply: str) -> TowerSpoke:
        return TowerSpoke(at, "SABLE 21", reply, "", ())

    def goes(at: float) -> LegEntered:
        return LegEntered(at, "SABLE 21", Leg.DEPARTURE.value, "lift_off")

    early = [goes(10.0), said(20.0, "closed_denied_breakout")]
    repeated = [goes(700.0), said(710.0, "closed_approved"), said(720.0, "closed_approved")]
    denied = [goes(900.0), said(910.0, "closed_approved"), said(915.0, "closed_denied_outside")]
    assert denial_study.closed_requests([*early, *repeated, *denied]) == [False, True]


@pytest.mark.parametrize("pattern", denial_study.PATTERNS)
def test_a_small_study_counts_landings_and_keeps_apart(pattern: str) -> None:
    found = denial_study.fly(pattern, 6.0, 1, hours=0.4)
    assert found.landings > 0
    assert 0 <= found.denied <= found.requests
    assert found.too_close == 0
    table = denial_study.account({(pattern, 6.0): [found]}, 1)
    assert f"| 6 | {pattern} | {found.requests} |" in table


def test_the_plot_is_an_svg_with_a_line_and_a_band_for_each_pattern() -> None:
    line = Line("one", (4.0, 40.0), (10.0, 30.0), ((5.0, 15.0), (20.0, 40.0)))
    root = ElementTree.fromstring(plot((("share", (line, line)), ("rate", (line, line))), "demand"))
    assert len(root.findall("{http://www.w3.org/2000/svg}polygon")) == 4
