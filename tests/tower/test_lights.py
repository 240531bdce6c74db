"""The light signals against the table of 14 CFR 91.125 (column "aircraft in flight"; see check_values section 7)."""

from phraseology.replies import REPLIES
from trainer.tower.lights import IN_FLIGHT, light_for

REGULATION = {
    "steady green": "cleared to land",
    "flashing green": "return for landing",
    "steady red": "give way",
    "flashing red": "do not land",
    "alternating red and green": "extreme caution",
}


def test_the_meanings_are_those_of_the_regulation() -> None:
    assert set(IN_FLIGHT) == set(REGULATION)
    for signal, meaning in REGULATION.items():
        assert meaning in IN_FLIGHT[signal]


def test_only_a_clearance_to_land_is_a_steady_green() -> None:
    green = {reply for reply in REPLIES if light_for(reply) == "steady green"}
    assert green == {"cleared", "cleared_in_sequence", "turn_base"}
    assert light_for("go_around") == "steady red"
    assert light_for("breakout") == "flashing red"
    assert light_for("wind_check") is None
    assert {light_for(reply) for reply in REPLIES} == {None, *IN_FLIGHT}
