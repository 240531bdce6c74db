"""The words that a model is trained on, with their pronunciations, and the phones and states behind them."""

import lzma
import random
import zlib
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from trainer.ears.acoustic import BACKGROUND, Pronunciation
from trainer.ears.model_files import SHIPPED_MODEL
from trainer.ears.pronouncing import DICTIONARY
from trainer.ears.training.errors import TrainingError

PHONES = (
    "AA",
    "AE",
    "AH",
    "AO",
    "AW",
    "AY",
    "B",
    "CH",
    "D",
    "DH",
    "EH",
    "ER",
    "EY",
    "F",
    "G",
    "HH",
    "IH",
    "IY",
    "JH",
    "K",
    "L",
    "M",
    "N",
    "NG",
    "OW",
    "OY",
    "P",
    "R",
    "S",
    "SH",
    "T",
    "TH",
    "UH",
    "UW",
    "V",
    "W",
    "Y",
    "Z",
    "ZH",
)
"""The 39 phones of ARPAbet, without stress."""

NOISE = "SPN"
"""The phone of whatever is no word of ours."""


@dataclass(frozen=True)
class Lexicon:
    """Every word with its pronunciations, in the order of their numbers (from 1); `BACKGROUND` is the last."""

    ways: dict[str, tuple[Pronunciation, ...]]

    def __contains__(self, word: str) -> bool:
        return word in self.ways

    def labels(self, words: list[str]) -> list[str]:
        """What the words are to the recogniser: those that it lacks are background."""
        return [word if word in self.ways else BACKGROUND for word in words]

    def text(self) -> str:
        """A line `word phone phone ...` for each way to say each word."""
        return "".join(f"{word} {' '.join(way)}\n" for word, ways in self.ways.items() for way in ways)


def read_lexicon(*paths: Path) -> Lexicon:
    """Read `word phone phone ...` lines; the ways to say a word add up. TrainingError for what is no such line."""
    ways: dict[str, dict[Pronunciation, None]] = {}
    for path in paths:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            if not line.strip():
                continue
            word, *phones = line.split()
            unknown = [phone for phone in phones if phone not in PHONES and phone != NOISE]
            if unknown or not phones:
                raise TrainingError(
                    f"{path} line {number}: {line!r} is no word with its phones",
                    "write: word PHONE PHONE ...",
                )
            ways.setdefault(word, {})[tuple(phones)] = None
    ways[BACKGROUND] = {(NOISE,): None, **ways.pop(BACKGROUND, {})}
    return Lexicon({word: tuple(spoken) for word, spoken in ways.items()})


def never_trained(word: str) -> bool:
    """Whether a word of the dictionary is kept from all training, so that new names can be tested: one in ten."""
    return zlib.crc32(word.encode()) % 10 == 0


def other_words(known: Lexicon, count: int, seed: int, common: Collection[str]) -> Lexicon:
    """Words of the dictionary that a name might be: `common` ones of 4 to 10 letters, that nobody else has."""
    text = lzma.decompress(DICTIONARY.read_bytes()).decode("ascii")
    ways: dict[str, list[Pronunciation]] = {}
    for line in text.splitlines():
        word, *phones = line.split()
        if 4 <= len(word) <= 10 and word in common and word not in known and not never_trained(word):
            ways.setdefault(word, []).append(tuple(phones))
    chosen = random.Random(seed).sample(sorted(ways), min(count, len(ways)))
    return Lexicon({word: tuple(ways[word]) for word in chosen})


def whole_lexicon() -> Lexicon:
    """All words that have a pronunciation anywhere: in the shipped model, and in the language."""
    from phraseology.lexicon import (
        PRONUNCIATIONS,
    )  # late: where a model is only trained there is no need of it

    known = read_lexicon(SHIPPED_MODEL / "lexicon.txt")
    ways = {word: spoken for word, spoken in known.ways.items() if word != BACKGROUND}
    for word, spoken in PRONUNCIATIONS.items():
        ways[word] = tuple(dict.fromkeys((*ways.get(word, ()), *spoken)))
    return Lexicon({**ways, BACKGROUND: known.ways[BACKGROUND]})
