"""Which leg may follow which, and on what trigger: the table of the pattern, as code.

Strict: an event that a leg does not know raises (`statemachine.StateMachine`, whose
`allow_event_without_transition` is off). Guards are read from the `Situation`. Where an event has
several lines from one leg, the first whose guard holds is taken. Flights and courses read the machine's
table (`next_leg`): a machine of their own takes two thousandths of a second to build.
"""

from collections.abc import Callable
from dataclasses import dataclass

from statemachine import StateMachine
from statemachine.states import States

from trainer.pattern.clearances import Clearances
from trainer.pattern.leg import Leg


@dataclass
class Situation:
    """What the guards read; `state` is where the machine keeps the leg."""

    clearances: Clearances
    onto_the_45: bool
    """The entry point lies so that initial is joined without a perpendicular leg."""
    before_departure_end: bool = True
    past_perch: bool = False
    state: Leg | None = None

    @property
    def may_break(self) -> bool:
        return self.clearances.break_approved

    @property
    def may_land(self) -> bool:
        return self.clearances.landing is not None

    @property
    def may_proceed(self) -> bool:
        return self.clearances.proceed_initial

    @property
    def comes_straight_in(self) -> bool:
        return self.clearances.straight_in

    @property
    def circled_from(self) -> Leg | None:
        return self.clearances.circle.back_to if self.clearances.circle else None

    @property
    def from_initial(self) -> bool:
        return self.circled_from is Leg.INITIAL

    @property
    def from_inside(self) -> bool:
        return self.circled_from is Leg.INSIDE_DOWNWIND

    @property
    def from_closed(self) -> bool:
        return self.circled_from is Leg.CLOSED_DOWNWIND


class PatternMachine(StateMachine):
    """The legs and their triggers; the leg is `current_state_value`."""

    leg = States.from_enum(Leg, initial=Leg.INBOUND, final=Leg.CLEAR_OF_RUNWAY)

    # Passing a point. Where a point asks for a clearance, the line without guard is flown for want of it.
    reach_point = (
        leg.INBOUND.to(leg.STRAIGHT_IN, cond="comes_straight_in")
        | leg.INBOUND.to(leg.FORTY_FIVE_TO_INITIAL, cond="may_proceed and onto_the_45")
        | leg.INBOUND.to(leg.NINETY_TO_INITIAL, cond="may_proceed")
        | leg.INBOUND.to(leg.ENTRY_POINT)
        | leg.BREAKOUT.to(leg.STRAIGHT_IN, cond="comes_straight_in")
        | leg.BREAKOUT.to(leg.FORTY_FIVE_TO_INITIAL, cond="may_proceed and onto_the_45")
        | leg.BREAKOUT.to(leg.NINETY_TO_INITIAL, cond="may_proceed")
        | leg.BREAKOUT.to(leg.ENTRY_POINT)
        | leg.CLIMB_OUT.to(leg.STRAIGHT_IN, cond="comes_straight_in")
        | leg.CLIMB_OUT.to(leg.FORTY_FIVE_TO_INITIAL, cond="may_proceed and onto_the_45")
        | leg.CLIMB_OUT.to(leg.NINETY_TO_INITIAL, cond="may_proceed")
        | leg.CLIMB_OUT.to(leg.ENTRY_POINT)
    )
    turn_onto_the_45 = leg.NINETY_TO_INITIAL.to(leg.FORTY_FIVE_TO_INITIAL)
    turn_onto_final = leg.STRAIGHT_IN.to(leg.FINAL)
    turn_onto_initial = leg.FORTY_FIVE_TO_INITIAL.to(leg.INITIAL)
    pass_break_point = (
        leg.INITIAL.to(leg.BREAK_TURN, cond="may_break")
        | leg.INITIAL.to(leg.STRAIGHT_THROUGH)
        | leg.STRAIGHT_THROUGH.to(leg.BREAK_TURN)
    )
    roll_out = (
        leg.BREAK_TURN.to(leg.INSIDE_DOWNWIND)
        | leg.CLOSED_PULL_UP.to(leg.CLOSED_DOWNWIND)
        | leg.FINAL_TURN.to(leg.FINAL)
    )
    pass_perch = leg.INSIDE_DOWNWIND.to(leg.FINAL_TURN) | leg.CLOSED_DOWNWIND.to(leg.FINAL_TURN)
    pass_threshold = leg.FINAL.to(leg.RUNWAY, cond="may_land") | leg.FINAL.to(leg.GOING_AROUND)
    lift_off = leg.RUNWAY.to(leg.DEPARTURE)
    turn_off = leg.RUNWAY.to(leg.CLEAR_OF_RUNWAY)
    pass_midfield = leg.GOING_AROUND.to(leg.DEPARTURE)
    pull_closed = leg.DEPARTURE.to(leg.CLOSED_PULL_UP)
    pass_crosswind_point = leg.DEPARTURE.to(leg.CROSSWIND) | leg.STRAIGHT_THROUGH.to(leg.CROSSWIND)
    turn_onto_outside = leg.CROSSWIND.to(leg.OUTSIDE_DOWNWIND)
    turn_onto_the_90 = leg.OUTSIDE_DOWNWIND.to(leg.NINETY_TO_INITIAL)
    complete_circle = (
        leg.THREE_SIXTY.to(leg.INITIAL, cond="from_initial")
        | leg.THREE_SIXTY.to(leg.INSIDE_DOWNWIND, cond="from_inside")
        | leg.THREE_SIXTY.to(leg.CLOSED_DOWNWIND, cond="from_closed")
        | leg.THREE_SIXTY.to(leg.OUTSIDE_DOWNWIND)
    )

    # A clearance that is used later: the leg stays.
    approve_break = leg.INITIAL.to.itself(internal=True) | leg.STRAIGHT_THROUGH.to.itself(
        internal=True, cond="before_departure_end"
    )
    clear_landing = (
        leg.INSIDE_DOWNWIND.to.itself(internal=True)
        | leg.CLOSED_DOWNWIND.to.itself(internal=True)
        | leg.FINAL_TURN.to.itself(internal=True)
        | leg.FINAL.to.itself(internal=True)
        | leg.STRAIGHT_IN.to.itself(internal=True)
    )
    approve_closed = (
        leg.INSIDE_DOWNWIND.to.itself(internal=True)
        | leg.CLOSED_DOWNWIND.to.itself(internal=True)
        | leg.FINAL_TURN.to.itself(internal=True)
        | leg.FINAL.to.itself(internal=True)
        | leg.RUNWAY.to.itself(internal=True)
        | leg.GOING_AROUND.to.itself(internal=True)
        | leg.DEPARTURE.to.itself(internal=True)
    )
    extend_downwind = leg.INSIDE_DOWNWIND.to.itself(internal=True) | leg.CLOSED_DOWNWIND.to.itself(
        internal=True
    )
    short_approach = leg.INSIDE_DOWNWIND.to.itself(internal=True) | leg.CLOSED_DOWNWIND.to.itself(
        internal=True
    )
    extend_upwind = leg.GOING_AROUND.to.itself(internal=True) | leg.DEPARTURE.to.itself(internal=True)

    # A clearance or an instruction that changes the leg at once; before the entry point, or the perch, there.
    proceed_to_initial = (
        leg.INBOUND.to.itself(internal=True)
        | leg.BREAKOUT.to.itself(internal=True)
        | leg.CLIMB_OUT.to.itself(internal=True)
        | leg.ENTRY_POINT.to(leg.FORTY_FIVE_TO_INITIAL, cond="onto_the_45")
        | leg.ENTRY_POINT.to(leg.NINETY_TO_INITIAL)
    )
    straight_in = (
        leg.INBOUND.to.itself(internal=True)
        | leg.BREAKOUT.to.itself(internal=True)
        | leg.CLIMB_OUT.to.itself(internal=True)
        | leg.ENTRY_POINT.to(leg.STRAIGHT_IN)
        | leg.OUTSIDE_DOWNWIND.to(leg.STRAIGHT_IN)
        | leg.NINETY_TO_INITIAL.to(leg.STRAIGHT_IN)
    )
    three_sixty = leg.THREE_SIXTY.from_(
        leg.INITIAL, leg.INSIDE_DOWNWIND, leg.CLOSED_DOWNWIND, leg.OUTSIDE_DOWNWIND
    )
    straight_through = leg.INITIAL.to(leg.STRAIGHT_THROUGH)
    turn_base = (
        leg.INSIDE_DOWNWIND.to(leg.FINAL_TURN, cond="past_perch")
        | leg.CLOSED_DOWNWIND.to(leg.FINAL_TURN, cond="past_perch")
        | leg.INSIDE_DOWNWIND.to.itself(internal=True)
        | leg.CLOSED_DOWNWIND.to.itself(internal=True)
    )
    go_around = (
        leg.FINAL_TURN.to(leg.GOING_AROUND)
        | leg.FINAL.to(leg.GOING_AROUND)
        | leg.STRAIGHT_IN.to(leg.GOING_AROUND)
    )
    breakout = leg.BREAKOUT.from_(
        leg.INBOUND,
        leg.ENTRY_POINT,
        leg.NINETY_TO_INITIAL,
        leg.FORTY_FIVE_TO_INITIAL,
        leg.INITIAL,
        leg.BREAK_TURN,
        leg.INSIDE_DOWNWIND,
        leg.FINAL_TURN,
        leg.FINAL,
        leg.DEPARTURE,
        leg.CLOSED_PULL_UP,
        leg.CLOSED_DOWNWIND,
        leg.CROSSWIND,
        leg.OUTSIDE_DOWNWIND,
        leg.STRAIGHT_THROUGH,
        leg.CLIMB_OUT,
        leg.GOING_AROUND,
        leg.STRAIGHT_IN,
        leg.THREE_SIXTY,
    )
    climb_out = leg.CLIMB_OUT.from_(leg.DEPARTURE, leg.STRAIGHT_THROUGH, leg.GOING_AROUND)


INSTRUCTIONS = frozenset(
    {
        "approve_break",
        "approve_closed",
        "breakout",
        "clear_landing",
        "climb_out",
        "extend_downwind",
        "extend_upwind",
        "go_around",
        "proceed_to_initial",
        "short_approach",
        "straight_in",
        "straight_through",
        "three_sixty",
        "turn_base",
    }
)
"""The events that somebody decides; every other event is passing a point."""


def transition_table() -> list[tuple[str, str, str]]:
    """Rows (leg, trigger, next leg) in the order of the legs, the guard after the trigger."""
    rows = []
    for state in PatternMachine.states:
        for transition in state.transitions:
            guards = "".join(f" if {guard}" for guard in transition.cond)
            if transition.target is not None:
                rows.append((str(state.value), f"{transition.event}{guards}", str(transition.target.value)))
    return rows


def _read_table() -> dict[tuple[Leg, str], list[tuple[tuple[str, ...], Leg]]]:
    """Per leg and event: guards, all of which must hold, and the next leg; the first that holds is taken."""
    table: dict[tuple[Leg, str], list[tuple[tuple[str, ...], Leg]]] = {}
    for leg, trigger, target in transition_table():
        event, _, guards = trigger.partition(" if ")
        named = tuple(guards.replace(" if ", " and ").split(" and ")) if guards else ()
        table.setdefault((Leg(leg), event), []).append((named, Leg(target)))
    return table


_TABLE = _read_table()


def next_leg(leg: Leg, event: str, situation: Callable[[], Situation]) -> Leg | None:
    """Where the event leads from this leg; None where the leg does not know it, or no guard holds.

    `situation` is called only where there are guards to read.
    """
    rows = _TABLE.get((leg, event), ())
    read = situation() if any(guards for guards, _ in rows) else None
    for guards, target in rows:
        if all(getattr(read, guard) for guard in guards):
            return target
    return None
