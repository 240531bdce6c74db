"""The table of legs: everything can be reached and left, and the code's table is the machine's."""

from collections import defaultdict

import pytest
from statemachine.exceptions import TransitionNotAllowed

from trainer.pattern.clearances import Clearances
from trainer.pattern.leg import Leg
from trainer.pattern.machine import INSTRUCTIONS, PatternMachine, Situation, next_leg, transition_table


def machine(leg: Leg, clearances: Clearances | None = None) -> PatternMachine:
    return PatternMachine(Situation(clearances or Clearances(), False), start_value=leg)


def ways() -> dict[str, set[str]]:
    following = defaultdict(set)
    for source, _, target in transition_table():
        following[source].add(target)
    return following


def test_every_leg_can_be_reached_from_inbound() -> None:
    following, reached, todo = ways(), set[str](), [Leg.INBOUND.value]
    while todo:
        here = todo.pop()
        if here not in reached:
            reached.add(here)
            todo.extend(following[here])
    assert reached == {leg.value for leg in Leg}


def test_every_leg_but_the_terminal_one_leads_on_to_another() -> None:
    following = ways()
    stuck = {leg for leg in Leg if not following[leg] - {leg.value}}
    assert stuck == {Leg.CLEAR_OF_RUNWAY}


def test_every_airborne_leg_can_be_broken_out_of() -> None:
    """Also the way to a point and the hold there: the point may not be available."""
    can = {source for source, trigger, _ in transition_table() if trigger == "breakout"}
    assert can == set(Leg) - {Leg.BREAKOUT, Leg.RUNWAY, Leg.CLEAR_OF_RUNWAY}


def test_the_table_names_every_event_and_only_those() -> None:
    triggers = {trigger.split(" if ")[0] for _, trigger, _ in transition_table()}
    assert triggers == {str(event) for event in machine(Leg.INBOUND).events}
    assert triggers >= INSTRUCTIONS


@pytest.mark.parametrize("leg", [leg for leg in Leg if leg is not Leg.CLEAR_OF_RUNWAY])
def test_an_event_that_the_leg_does_not_know_raises_and_changes_nothing(leg: Leg) -> None:
    here = machine(leg)
    allowed = {str(event) for event in here.allowed_events}
    refused = [str(event) for event in here.events if str(event) not in allowed]
    assert refused
    for event in refused:
        with pytest.raises(TransitionNotAllowed):
            here.send(event)
        assert here.current_state_value is leg
        assert next_leg(leg, event, lambda: Situation(Clearances(), False)) is None


@pytest.mark.parametrize(
    ("leg", "event", "clearances", "target"),
    [
        (Leg.INITIAL, "pass_break_point", Clearances(break_approved=True), Leg.BREAK_TURN),
        (Leg.INITIAL, "pass_break_point", Clearances(), Leg.STRAIGHT_THROUGH),
        (Leg.FINAL, "pass_threshold", Clearances(landing="option"), Leg.RUNWAY),
        (Leg.FINAL, "pass_threshold", Clearances(), Leg.GOING_AROUND),
        (Leg.INBOUND, "reach_point", Clearances(proceed_initial=True), Leg.NINETY_TO_INITIAL),
        (Leg.INBOUND, "reach_point", Clearances(), Leg.ENTRY_POINT),
    ],
)
def test_a_point_is_passed_as_cleared(leg: Leg, event: str, clearances: Clearances, target: Leg) -> None:
    here = machine(leg, clearances)
    here.send(event)
    assert here.current_state_value is target
    assert next_leg(leg, event, lambda: Situation(clearances, False)) is target
