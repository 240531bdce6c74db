"""The words of a transmission, with what every reader asks of them."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from phraseology.elements import Element, Kind
from phraseology.figures import NumberStyle
from phraseology.numbers import Number
from phraseology.parsed import World


@dataclass(frozen=True)
class Words:
    """The spoken words, lower case, and the names known while reading them."""

    said: tuple[str, ...]
    world: World
    furthest: dict[int, int] = field(default_factory=dict, compare=False, repr=False)
    """Where the longest element ends that starts at a place, as far as it was asked for."""

    @property
    def style(self) -> NumberStyle:
        return self.world.standard.numbers

    def at(self, place: int) -> str:
        """The word there, "" beyond either end."""
        return self.said[place] if 0 <= place < len(self.said) else ""

    def starts(self, place: int, phrase: str) -> bool:
        """True if these words stand there."""
        words = tuple(phrase.split())
        return self.said[place : place + len(words)] == words

    def behind(self, place: int, words: Sequence[str]) -> int:
        """The first place that holds none of the words."""
        while self.at(place) in words:
            place += 1
        return place


def numbered(kind: Kind, at: int, start: int, number: Number | None) -> Element | None:
    """The element of a number found at `start`, with what stands in front of it from `at`."""
    if number is None:
        return None
    return Element(kind, number.figures, at, start + number.length, number.standard)
