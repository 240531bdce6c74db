"""What came in through the ears, or the keyboard: words, how sure, and by which path.

`Heard` is the only thing the language core knows of recognition. A recogniser fills in
confidences and times; a typed line is certain of every word.
"""

from dataclasses import dataclass
from enum import StrEnum

from phraseology.words import tokens


class HeardBy(StrEnum):
    """The path that the words took."""

    SITUATION = "situation"  # a call that was plausible here, right or wrong
    LANGUAGE = "language"  # words of the trade in an order nobody foresaw
    TYPED = "typed"  # the keyboard: certain
    NOTHING = "nothing"  # silence, noise, or talk that is not of the trade


@dataclass(frozen=True)
class HeardWord:
    """One word. `confidence` is 0..1; `start` and `end` are seconds from key-on, or None."""

    text: str
    confidence: float = 1.0
    start: float | None = None
    end: float | None = None


@dataclass(frozen=True)
class Heard:
    """One transmission as heard. No words at all means that nothing of the trade was heard."""

    words: tuple[HeardWord, ...] = ()
    by: HeardBy = HeardBy.NOTHING

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)

    @classmethod
    def typed(cls, text: str) -> "Heard":
        """Words from a typed line; figures ("31", "2,700") become the words that say them."""
        words = tuple(HeardWord(word) for word in tokens(text))
        return cls(words, HeardBy.TYPED if words else HeardBy.NOTHING)
