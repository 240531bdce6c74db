"""What the tower is likely to reply to the trainee: to have its voice ready while he still speaks. Pure."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from phraseology.calls import CALLS
from phraseology.elements import Kind
from phraseology.replies import Message, message
from trainer.session.aircraft import Aircraft
from trainer.session.dialogue import due_calls
from trainer.tower.hearback import QUESTION_OF
from trainer.tower.picture import Asked

CALLS_AHEAD = 2
"""So many of the calls that belong here are thought of."""
_LANDINGS = ("touch_and_go", "full_stop", "low_approach", "option", "stop_and_go")


def likely_replies(aircraft: Aircraft, would_say: Callable[[Asked], Message]) -> list[Message]:
    """The replies to what the aircraft may say now, the likeliest first, each once. `would_say` decides."""
    return list(dict.fromkeys(_replies(aircraft, would_say)))


def _replies(aircraft: Aircraft, would_say: Callable[[Asked], Message]) -> Iterator[Message]:
    name = aircraft.callsign
    owed = aircraft.owed
    if owed is not None:
        if owed.then is not None and owed.then.call in CALLS:
            yield would_say(owed.then)
        else:
            yield replace(owed.message, corrects=True)
            yield message("readback_correct", name, {})
    due = due_calls(aircraft)[:CALLS_AHEAD]
    for expected in due:
        for asked in _ways_to_ask(aircraft, expected.name):
            yield would_say(asked)
    yield message("say_again", name, {})
    yield message("say_again", "", {})
    for expected in due:
        for slot in expected.slots:
            if slot.kind.value in QUESTION_OF:
                question = QUESTION_OF[slot.kind.value]
                yield message(question, "" if slot.kind is Kind.CALLSIGN else name, {})


def _ways_to_ask(aircraft: Aircraft, call: str) -> Iterator[Asked]:
    """The call as the plan has it; without a plan, with each way to land."""
    asked = Asked(call, aircraft.callsign, aircraft.intention, has_atis=True, request=aircraft.request)
    if call in ("gear_report", "final") and asked.intention is None:
        for landing in _LANDINGS:
            yield replace(asked, intention=landing)
    else:
        yield asked
