"""Errors of the controller, put in on purpose: the pilot must hear them. At a set rate, from a seed.

A clearance for another runway, or for its other side; a message with another callsign. Similar callsigns and
expectation are what pilots fall for (NASA CR-177398; ASRS Directline 1).
"""

import random
from collections.abc import Collection, Sequence
from dataclasses import replace

from phraseology.elements import Kind, runway_name
from phraseology.replies import Message


class Traps:
    """`rate` is the share of messages, 0 to 1, in which the controller errs where he can."""

    def __init__(self, rate: float, rng: random.Random) -> None:
        self.rate = rate
        self._rng = rng

    def instead_of(
        self, message: Message, runway: str, ends: Sequence[str], taken: Collection[str]
    ) -> Message | None:
        """The message with an error in it, or None: this time he gets it right."""
        if self.rate <= 0.0 or self._rng.random() >= self.rate:
            return None
        if message.has(Kind.CLEARANCE) and message.has(Kind.RUNWAY):
            return wrong_runway(message, runway, ends)
        if message.has(Kind.QUERY) or " " not in message.to:
            return None
        return _wrong_callsign(message, taken, self._rng)


def wrong_runway(message: Message, runway: str, ends: Sequence[str]) -> Message | None:
    """The clearance for the parallel if there is one, else the other end."""
    number = runway.rstrip("LRC")
    others = sorted((end for end in ends if end != runway), key=lambda end: end.rstrip("LRC") != number)
    if not others:
        return None
    elements = tuple(
        (kind, runway_name(others[0]) if kind is Kind.RUNWAY else value) for kind, value in message.elements
    )
    return replace(message, elements=elements)


def _wrong_callsign(message: Message, taken: Collection[str], rng: random.Random) -> Message | None:
    """The last figure is another, and nobody on the frequency has that callsign."""
    names = [message.to[:-1] + digit for digit in "123456789"]
    free = [name for name in names if name not in taken and name != message.to]
    return replace(message, to=rng.choice(free)) if free else None
