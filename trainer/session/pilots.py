"""Synthetic pilots: what the other aircraft say, mostly right.

They speak the phraseology's own model calls. At the rates of their `Habits` they slip in ways that the
trade knows, and what they then said is heard, judged and asked back like anything of the trainee's.
"""

import random
from dataclasses import dataclass

from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.phrases import LETTERS
from phraseology.render import say
from phraseology.replies import Message
from trainer.pattern.callpoints import Window
from trainer.pattern.leg import Leg
from trainer.session.wishes import Wish, wish


@dataclass(frozen=True)
class Habits:
    """Shares, 0 to 1, of what goes wrong. `traps` are the tower's own errors.

    `wishes` is the share of legs on which a pilot wants something of his own accord, `otherwise` that of
    messages that he does not simply answer: say again, unable, traffic not in sight.

    Under one in a hundred tower messages ends in a communication error (Cardosi 1994, DOT/FAA/RD-94/15), and
    1.16 of a hundred transmissions are blocked or clipped (DOT/FAA/AM-05/19).
    """

    wrong: float = 0.0
    silent: float = 0.0
    blocked: float = 0.0
    traps: float = 0.0
    wishes: float = 0.0
    otherwise: float = 0.0


BY_THE_BOOK = Habits()
AS_PEOPLE_ARE = Habits(wrong=0.03, silent=0.01, blocked=0.0116, traps=0.01, wishes=0.02, otherwise=0.03)
"""More slips than were measured, so that each kind occurs (our own choice); the blocked are as measured."""


@dataclass(frozen=True)
class Words:
    text: str
    right: bool


SAY_AGAIN = Words("", right=True)
"""He asks for the message again, by the call of that name."""
_MOST_EAGER = 0.9
_MAY_BE_EARLY = frozenset({"entry_point", "gear_report", "request_closed"})
_REFUSED = 0.3
_MAY_REFUSE = frozenset({"break_approved", "break_at", "closed_approved", "closed_approved_when"})
"""Approvals that a pilot may not be able to use; who keeps aircraft apart is not refused."""


class Pilot:
    """Chooses the words of one aircraft. The same seed and the same calls give the same words."""

    def __init__(self, habits: Habits, rng: random.Random) -> None:
        self._habits = habits
        self._rng = rng
        self._own = random.Random(rng.random())
        self._eager = self._own.uniform(0.0, _MOST_EAGER) if habits.wishes else 0.0

    def says(self, expected: Expected) -> Words | None:
        """The words of a call or an answer; None: he forgets it."""
        draw, right = self._rng.random(), expected.model_call
        if draw < self._habits.silent:
            return None
        if draw < self._habits.silent + self._habits.wrong:
            slips = [slip for make in _SLIPS if (slip := make(expected, self._rng)) not in (None, right)]
            if slips:
                return Words(self._rng.choice(slips), right=False)
        return Words(expected.model_call, right=True)

    def calls_at(self, window: Window) -> float:
        """The second at which he makes the call of this window: some a little before it is due."""
        early = self._eager * (window.due_at_s - window.opens_at_s) if window.call in _MAY_BE_EARLY else 0.0
        return window.due_at_s - early

    def wish(self, leg: Leg, since: float) -> Wish | None:
        """What he wants of his own accord on a leg entered at this second."""
        return wish(leg, since, self._habits.wishes, self._own)

    def answers_otherwise(self, message: Message, expected: Expected) -> Words | None:
        """Another answer than the model one: "say again", "unable", traffic not in sight; None: that one."""
        if self._own.random() >= self._habits.otherwise:
            return None
        standard = expected.context.standard
        if message.has(Kind.TRAFFIC_INFORMATION):
            seen, unseen = (say(Kind.TRAFFIC, value, standard) for value in ("in_sight", "not_in_sight"))
            return Words(expected.model_call.replace(seen, unseen), right=True)
        if message.kind in _MAY_REFUSE and self._own.random() < _REFUSED:
            return Words(f"{_callsign(expected)}, {say(Kind.ACK, 'unable', standard)}", right=False)
        return SAY_AGAIN

    def is_blocked(self) -> bool:
        return self._rng.random() < self._habits.blocked


def _callsign(expected: Expected) -> str:
    return say(Kind.CALLSIGN, expected.context.callsign, expected.context.standard)


def wrong_figure(expected: Expected, rng: random.Random) -> str | None:
    """The last figure of the own callsign is another."""
    word, figures = expected.context.callsign.split()
    other = rng.choice([digit for digit in "123456789" if digit != figures[-1]])
    wrong = say(Kind.CALLSIGN, f"{word} {figures[:-1]}{other}", expected.context.standard)
    return expected.model_call.replace(_callsign(expected), wrong, 1)


def _roger_alone(expected: Expected, rng: random.Random) -> str | None:
    """Roger where something is to be read back."""
    if not expected.name.startswith("answer_to_"):
        return None
    return f"{_callsign(expected)}, {say(Kind.ACK, 'roger', expected.context.standard)}"


def _something_left_out(expected: Expected, rng: random.Random) -> str | None:
    """One part of the call is missing; the callsign stays."""
    parts = expected.model_call.split(", ")
    kept = [part for part in parts if part != _callsign(expected)]
    if len(kept) < 2:
        return None
    gone = rng.choice(kept)
    return ", ".join(part for part in parts if part != gone)


def _gear_in_transit(expected: Expected, rng: random.Random) -> str | None:
    standard = expected.context.standard
    down = say(Kind.GEAR, "down", standard)
    if expected.name != "gear_report" or down not in expected.model_call:
        return None
    return expected.model_call.replace(down, say(Kind.GEAR, "in_transit", standard))


def _old_letter(expected: Expected, rng: random.Random) -> str | None:
    """The information of an hour ago."""
    letter, standard = expected.context.atis, expected.context.standard
    if expected.name != "check_in" or letter is None:
        return None
    before = LETTERS[LETTERS.index(letter) - 1]
    return expected.model_call.replace(say(Kind.ATIS, letter, standard), say(Kind.ATIS, before, standard))


def _only_calls(expected: Expected, rng: random.Random) -> str | None:
    """Whom and who, and then he waits."""
    if expected.name != "check_in":
        return None
    station = say(Kind.STATION, expected.context.station, expected.context.standard)
    return f"{station}, {_callsign(expected)}"


def _nowhere(expected: Expected, rng: random.Random) -> str | None:
    """A check-in that does not say where from."""
    where = expected.context.where
    if expected.name != "check_in" or where is None:
        return None
    said = f"{say(Kind.WHERE, where, expected.context.standard)}, "
    return expected.model_call.replace(said, "") if said in expected.model_call else None


_SLIPS = (
    _nowhere,
    wrong_figure,
    _roger_alone,
    _something_left_out,
    _gear_in_transit,
    _old_letter,
    _only_calls,
)
