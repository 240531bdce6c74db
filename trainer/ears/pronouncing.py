"""How any word is said: so that a new callsign or point can be heard without training anew.

First the words of the trade, then the CMU Pronouncing Dictionary (its words of 3 to 12 letters, packed beside
this module), then the letters alone.
"""

import lzma
from functools import cache
from pathlib import Path

from phraseology import lexicon

Pronunciation = tuple[str, ...]

DICTIONARY = Path(__file__).with_name("dictionary.txt.xz")
"""One pronunciation a line: the word and its phones, sorted. BSD 2-Clause (THIRD_PARTY.md)."""


def say_word(word: str) -> tuple[Pronunciation, ...]:
    """Every pronunciation known of the word, or a likely one from its letters; none if it has no letters."""
    known = lexicon.pronunciations(word) or _of_the_dictionary(word.lower())
    if known:
        return known
    guess = lexicon.spelled(word)
    return (guess,) if guess else ()


@cache
def _of_the_dictionary(word: str) -> tuple[Pronunciation, ...]:
    """Looked up in the packed text: about 40 ms, and only for a word that the trade does not have."""
    text = "\n" + lzma.decompress(DICTIONARY.read_bytes()).decode("ascii")
    found: list[Pronunciation] = []
    at = text.find(f"\n{word} ")
    while at >= 0:
        line = text[at + 1 : text.index("\n", at + 1)]
        found.append(tuple(line.split()[1:]))
        at = text.find(f"\n{word} ", at + 1)
    return tuple(found)
