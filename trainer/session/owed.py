"""What a pilot owes the tower."""

from dataclasses import dataclass

from phraseology.expected import Expected
from phraseology.replies import Message
from trainer.tower.picture import Asked


@dataclass(frozen=True)
class Owed:
    """An answer that the tower waits for. `then` is the call that it acts on once it has the answer."""

    message: Message
    expected: Expected
    since: float
    repeated: int = 0
    then: Asked | None = None
