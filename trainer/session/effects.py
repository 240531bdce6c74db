"""What a message of the tower changes in the plan of an aircraft, beside what its flight then does."""

from phraseology.elements import Kind
from phraseology.replies import Message
from trainer.pattern.errors import PatternError
from trainer.session.aircraft import Aircraft


def takes_in(aircraft: Aircraft, message: Message, now: float) -> None:
    """A count to the break begins; a straight-in, or another go, is no longer to be had."""
    match message.kind:
        case "break_in":
            seconds = (message.value(Kind.BREAK) or "").removeprefix("in ")
            aircraft.break_due_s = now + float(seconds)
        case "straight_ins_closed" if not aircraft.is_trainee:
            aircraft.request = "overhead"
        case "full_stops_only" if not aircraft.is_trainee and aircraft.circuits:
            aircraft.circuits = (*aircraft.circuits[: aircraft.approach], "full_stop")
        case _:
            pass


def breaks_when_due(aircraft: Aircraft, now: float) -> bool:
    """The seconds have been counted: it breaks, where it still may."""
    if aircraft.break_due_s is None or now < aircraft.break_due_s:
        return False
    aircraft.break_due_s = None
    try:
        aircraft.flight.approve_break(now)
    except PatternError:
        return False
    return True
