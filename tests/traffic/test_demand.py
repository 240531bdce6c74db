"""The demand: the rate that was asked for, every class and every way to come, from one seed."""

import pytest

from trainer.pattern.profiles import PROFILES
from trainer.traffic.demand import demand

POINTS = ("QUARRY", "SILO", "WEIR")


def test_the_same_seed_gives_the_same_visitors_and_another_seed_others() -> None:
    assert demand(8.0, 2.0, 5, POINTS) == demand(8.0, 2.0, 5, POINTS)
    assert demand(8.0, 2.0, 5, POINTS) != demand(8.0, 2.0, 6, POINTS)


@pytest.mark.parametrize("per_hour", [4.0, 14.0])
def test_as_many_come_as_were_asked_for(per_hour: float) -> None:
    """40 hours: the standard deviation of a Poisson count is its root, four of them are allowed."""
    found = [visitor for seed in range(10) for visitor in demand(per_hour, 4.0, seed, POINTS)]
    expected = per_hour * 40.0
    assert abs(len(found) - expected) < 4.0 * expected**0.5 + 10.0


def test_everything_comes_and_no_callsign_twice() -> None:
    found = demand(14.0, 20.0, 1, POINTS, taken=("SABLE 21",))
    assert {visitor.profile.name for visitor in found} == set(PROFILES)
    assert {visitor.arrives for visitor in found} == {"inbound", "initial", "straight_in", "departure"}
    assert any(visitor.emergency for visitor in found)
    names = [visitor.callsign for visitor in found]
    assert len(set(names)) == len(names)
    assert "SABLE 21" not in names
    assert all(visitor.circuits[-1] == "full_stop" for visitor in found)
