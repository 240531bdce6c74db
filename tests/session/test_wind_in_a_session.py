"""The wind of the drill is what the tower says and what everybody flies in."""

import pytest

from drills.check import load_drill, load_field
from trainer.session.events import LegEntered, TowerSpoke
from trainer.session.plan import SessionPlan


def windy(wind: str) -> SessionPlan:
    drill = load_drill("first_flight").model_copy(update={"wind": wind})
    return SessionPlan.of_drill(drill, load_field(drill.field))


def test_the_drills_wind_is_the_patterns() -> None:
    pattern = windy("350/12").pattern
    assert (pattern.wind_from_deg, pattern.wind_kt) == (350.0, 12.0)


@pytest.mark.parametrize("wind", ["350/20", "220/15/25"])
def test_a_drill_is_flown_to_its_end_in_wind(typing_trainee, wind: str) -> None:
    calm, trainee = typing_trainee(windy("calm")), typing_trainee(windy(wind))
    calm.fly()
    trainee.fly()
    flown = [
        [event.leg for event in flight.of(LegEntered) if event.aircraft == flight.session.plan.callsign]
        for flight in (calm, trainee)
    ]
    assert flown[0] == flown[1]
    assert any("wind" in event.words for event in trainee.of(TowerSpoke))
    assert trainee.session.now != pytest.approx(calm.session.now, abs=1.0)
