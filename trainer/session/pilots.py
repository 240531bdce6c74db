"""Synthetic pilots: what the other aircraft say, mostly right.

They speak the phraseology's own model calls. At the rates of their `Habits` they slip in ways that the
trade knows, and what they then said is heard, judged and asked back like anything of the trainee's.
"""

import random
from dataclasses import dataclass

from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.render import say


@dataclass(frozen=True)
class Habits:
    """Shares, 0 to 1, of what goes wrong. `traps` are the tower's own errors.

    Under one in a hundred tower messages ends in a communication error (Cardosi 1994, DOT/FAA/RD-94/15), and
    1.16 of a hundred transmissions are blocked or clipped (DOT/FAA/AM-05/19).
    """

    wrong: float = 0.0
    silent: float = 0.0
    blocked: float = 0.0
    traps: float = 0.0


BY_THE_BOOK = Habits()
AS_PEOPLE_ARE = Habits(wrong=0.03, silent=0.01, blocked=0.0116, traps=0.01)
"""More slips than were measured, so that each kind occurs (our own choice); the blocked are as measured."""


@dataclass(frozen=True)
class Words:
    text: str
    right: bool


class Pilot:
    """Chooses the words of one aircraft. The same seed and the same calls give the same words."""

    def __init__(self, habits: Habits, rng: random.Random) -> None:
        self._habits = habits
        self._rng = rng

    def says(self, expected: Expected) -> Words | None:
        """The words of a call or an answer; None: he forgets it."""
        draw = self._rng.random()
        if draw < self._habits.silent:
            return None
        if draw < self._habits.silent + self._habits.wrong:
            slip = self._rng.choice(_SLIPS)(expected, self._rng)
            if slip is not None and slip != expected.model_call:
                return Words(slip, right=False)
        return Words(expected.model_call, right=True)

    def is_blocked(self) -> bool:
        return self._rng.random() < self._habits.blocked


def _callsign(expected: Expected) -> str:
    return say(Kind.CALLSIGN, expected.context.callsign, expected.context.standard)


def _wrong_figure(expected: Expected, rng: random.Random) -> str | None:
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


_SLIPS = (_wrong_figure, _roger_alone, _something_left_out)
