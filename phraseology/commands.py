"""Words to the trainer itself, not to the tower: few, plain, and none of them a call.

"Say again" without a callsign is one of them only where nothing is due and nobody waits for an answer; there
a call of that name would lack its callsign anyway. Who asks with the callsign asks the tower.
"""

from collections.abc import Iterable
from enum import StrEnum

from phraseology.heard import Heard, HeardBy
from phraseology.wordgraph import Choice, Node, Say, WordAutomaton, automaton

SURE = 0.9
"""The least confidence of each word, as for the elements of a call (`phraseology.doubt`)."""


class Command(StrEnum):
    """What can be said to the trainer, word for word."""

    SAY_AGAIN = "say again"
    PAUSE = "pause"
    RESUME = "resume"
    END_SESSION = "end session"


def command_of(heard: Heard, allowed: Iterable[Command]) -> Command | None:
    """The command that these words are and nothing besides; None for all else."""
    return next((command for command in allowed if heard.text == command), None)


def is_sure(heard: Heard) -> bool:
    """Whether it may be acted on: typed, or each word heard clearly where it was listened for."""
    if heard.by is HeardBy.TYPED:
        return True
    return heard.by is HeardBy.SITUATION and all(word.confidence >= SURE for word in heard.words)


def sentences(allowed: Iterable[Command]) -> tuple[Node, ...]:
    """The commands as a situation takes them."""
    return tuple(Say.of(command) for command in allowed)


def only_commands(allowed: Iterable[Command]) -> WordAutomaton:
    """What there is to listen for while the clock is stopped."""
    return automaton(Choice(sentences(allowed)))
