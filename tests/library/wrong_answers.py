"""What trainees typically get wrong, and what each costs: the words are made from the model call of a prompt.

The costs are written down here by hand, from what the trade holds (domain.md, "Severity"; PANS-ATM 4.5.7.5 and
AIM 4-4-7 for read-backs): critical 50 points, major 25, minor 5. They are not read off the judge.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.phrases import LETTERS
from phraseology.render import say

CRITICAL, MAJOR, MINOR = 50, 25, 5
Words = str | None


@dataclass(frozen=True)
class WrongAnswer:
    """`words` makes it of a prompt, None where it cannot be made; `faults` are its elements and their points."""

    name: str
    words: Callable[[Expected], Words]
    faults: Callable[[Expected], Mapping[str, int]]


def is_answer(prompt: Expected) -> bool:
    return prompt.name.startswith("answer_to_")


def _said(prompt: Expected, kind: Kind) -> str | None:
    """The words of this element in the model call."""
    slot = next((slot for slot in prompt.slots if slot.kind is kind and slot.say), None)
    if slot is None or slot.say is None:
        return None
    words = say(kind, slot.say, prompt.context.standard)
    return words if f" {words} " in f" {prompt.model_call.replace(',', '')} " else None


def _instead(prompt: Expected, kind: Kind, other: str) -> Words:
    words = _said(prompt, kind)
    return None if words is None else prompt.model_call.replace(",", "").replace(words, other, 1)


def _without(kind: Kind, *calls: str) -> Callable[[Expected], Words]:
    def words(prompt: Expected) -> Words:
        if prompt.name not in calls:
            return None
        left = _instead(prompt, kind, "")
        return None if left is None else " ".join(left.split())

    return words


@dataclass(frozen=True)
class Loses:
    """The same of every prompt."""

    element: str
    points: int

    def __call__(self, prompt: Expected) -> Mapping[str, int]:
        return {self.element: self.points}


def _swapped(prompt: Expected) -> Words:
    """The figures of the own call sign the other way round."""
    word, figures = prompt.context.callsign.split()
    other = figures[::-1] if figures != figures[::-1] else f"{figures[:-1]}{(int(figures[-1]) + 1) % 10}"
    return _instead(prompt, Kind.CALLSIGN, say(Kind.CALLSIGN, f"{word} {other}", prompt.context.standard))


def _no_callsign(prompt: Expected) -> Words:
    left = _instead(prompt, Kind.CALLSIGN, "")
    return " ".join(left.split()) or None if left else None


def _old_letter(prompt: Expected) -> Words:
    letter = prompt.context.atis
    if prompt.name != "check_in" or letter is None:
        return None
    before = LETTERS[LETTERS.index(letter) - 1]
    return _instead(prompt, Kind.ATIS, say(Kind.ATIS, before, prompt.context.standard))


def _another_point(prompt: Expected) -> Words:
    right = next((slot.say for slot in prompt.slots if slot.kind is Kind.REPORT), None)
    if not is_answer(prompt) or right is None or not right.isupper():
        return None
    other = next(point for point in sorted(prompt.context.world.points) if point != right)
    return _instead(prompt, Kind.REPORT, say(Kind.REPORT, other, prompt.context.standard))


def _another_runway(prompt: Expected) -> Words:
    if not is_answer(prompt) or not prompt.name.startswith("answer_to_cleared"):
        return None
    number, _, side = prompt.context.runway.partition(" ")
    other = f"{number} {'right' if side == 'left' else 'left'}" if side else f"{(int(number) + 17) % 36 + 1}"
    return _instead(prompt, Kind.RUNWAY, say(Kind.RUNWAY, other, prompt.context.standard))


def _another_clearance(prompt: Expected) -> Words:
    right = next((slot.say for slot in prompt.slots if slot.kind is Kind.CLEARANCE), None)
    if not is_answer(prompt) or right is None:
        return None
    other = "touch_and_go" if right != "touch_and_go" else "low_approach"
    return _instead(prompt, Kind.CLEARANCE, say(Kind.CLEARANCE, other, prompt.context.standard))


def _accepts(prompt: Expected) -> Words:
    """A clearance for another runway, read back as it was given."""
    if prompt.name != "challenge":
        return None
    own = say(Kind.CALLSIGN, prompt.context.callsign, prompt.context.standard)
    clearance = say(Kind.CLEARANCE, prompt.context.intention or "touch_and_go", prompt.context.standard)
    return f"{own} {clearance}"


_ROGER: dict[str, Mapping[str, int]] = {
    "answer_to_overhead_approved": {"runway": MAJOR, "report": MINOR},
    "answer_to_cleared": {"runway": MAJOR, "clearance": MAJOR},
    "answer_to_cleared_in_sequence": {"runway": MAJOR, "clearance": MAJOR},
    "answer_to_turn_base": {"runway": MAJOR, "clearance": MAJOR, "action": MINOR},
    "answer_to_closed_denied_breakout": {"report": MAJOR, "action": MINOR},
    "answer_to_closed_denied_climb_out": {"report": MAJOR, "altitude": MAJOR, "action": MINOR},
    "answer_to_closed_denied_outside": {"report": MINOR},
    "answer_to_closed_approved_when": {"condition": MAJOR},
    "answer_to_breakout": {"report": MAJOR, "action": MINOR},
    "answer_to_entry_not_available": {"report": MAJOR},
    "answer_to_emergency_in_pattern": {"report": MAJOR, "action": MINOR},
    "answer_to_straight_through": {"report": MINOR, "action": MINOR},
    "answer_to_go_around": {"action": MINOR},
    "answer_to_extend_downwind": {"action": MINOR},
    "answer_to_extend_upwind": {"action": MINOR},
    "answer_to_break_at": {"break": MINOR},
    "answer_to_break_in": {"break": MINOR},
    "answer_to_break_at_my_call": {"break": MINOR},
    "answer_to_report_break": {"report": MINOR},
    "answer_to_traffic": {"traffic": MINOR},
    "answer_to_check_wheels_down": {"gear": CRITICAL},
    "answer_to_say_fuel_and_souls": {"fuel": MAJOR, "souls": MAJOR},
    "answer_to_runway_change": {"runway": MAJOR, "altimeter": MAJOR},
    "answer_to_overhead_denied": {"runway": MAJOR, "report": MINOR, "action": MINOR},
}
"""What "roger" alone loses by what it answers; with an altimeter in the message that too."""


def _roger(prompt: Expected) -> Words:
    if prompt.name not in _ROGER:
        return None
    own = say(Kind.CALLSIGN, prompt.context.callsign, prompt.context.standard)
    return f"{own} roger"


def _roger_costs(prompt: Expected) -> Mapping[str, int]:
    pressure = {slot.kind.value: MAJOR for slot in prompt.slots if slot.kind in (Kind.ALTIMETER, Kind.QNH)}
    return {**_ROGER[prompt.name], **pressure}


def _chatty(prompt: Expected) -> Words:
    return None if is_answer(prompt) or prompt.name == "challenge" else f"{prompt.model_call} at this time"


def _hesitating(prompt: Expected) -> Words:
    own = say(Kind.CALLSIGN, prompt.context.callsign, prompt.context.standard)
    model = prompt.model_call.replace(",", "")
    return model.replace(own, f"{own} uh", 1) if model != own else None


def costs() -> Iterator[str]:
    """A line of the table for each wrong answer: what it loses."""
    for wrong in WRONG_ANSWERS:
        if isinstance(wrong.faults, Loses):
            yield f"| {wrong.name} | {wrong.faults.element} | {wrong.faults.points} |"
        else:
            least, *_, most = sorted(sum(each.values()) for each in _ROGER.values())
            yield f"| {wrong.name} | all that had to be read back | {least} to {most}; {MAJOR} more with a setting |"


WRONG_ANSWERS = (
    WrongAnswer("call sign with its figures swapped", _swapped, Loses("callsign", CRITICAL)),
    WrongAnswer("call sign left out", _no_callsign, Loses("callsign", CRITICAL)),
    WrongAnswer("gear left out", _without(Kind.GEAR, "gear_report"), Loses("gear", CRITICAL)),
    WrongAnswer(
        "intention left out", _without(Kind.INTENTION, "gear_report", "check_in"), Loses("intention", MAJOR)
    ),
    WrongAnswer("altitude left out", _without(Kind.ALTITUDE, "check_in"), Loses("altitude", MAJOR)),
    WrongAnswer("where from left out", _without(Kind.WHERE, "check_in"), Loses("where", MAJOR)),
    WrongAnswer("request left out", _without(Kind.REQUEST, "check_in"), Loses("request", MAJOR)),
    WrongAnswer("letter left out", _without(Kind.ATIS, "check_in"), Loses("atis", MINOR)),
    WrongAnswer("letter of an hour ago", _old_letter, Loses("atis", MAJOR)),
    WrongAnswer("flight left out", _without(Kind.FLIGHT, "check_in", "initial"), Loses("flight", MINOR)),
    WrongAnswer("nature left out", _without(Kind.NATURE, "emergency"), Loses("nature", MAJOR)),
    WrongAnswer("roger in place of a read-back", _roger, _roger_costs),
    WrongAnswer("another point read back", _another_point, Loses("report", MAJOR)),
    WrongAnswer("another runway read back", _another_runway, Loses("runway", CRITICAL)),
    WrongAnswer("another clearance read back", _another_clearance, Loses("clearance", CRITICAL)),
    WrongAnswer("a clearance for another runway accepted", _accepts, Loses("clearance", CRITICAL)),
    WrongAnswer("more words than the call needs", _chatty, Loses("brevity", MINOR)),
    WrongAnswer("a hesitation", _hesitating, Loses("hesitation", MINOR)),
)
