"""How alike two words sound.

The distance between two pronunciations is an edit distance over their phones in which phones that are made
alike cost less, and a full vowel weighs more than a consonant: noise and a narrow band take the consonants
first. The costs were chosen to separate a table of pairs that stands with its reasons in the tests; they are
not fitted to recordings. What was measured and does not follow from the phones is in `HEARD_FOR_EACH_OTHER`.
"""

from collections.abc import Callable, Iterable, Sequence
from functools import cache
from itertools import islice, product
from typing import NamedTuple

from phraseology.lexicon import Pronunciation, pronunciations, spelled

ALIKE = 0.68
"""From this likeness on, one word may be heard for the other: between the loosest pair of the table that
passes ("silo" and "solo", 0.70) and the closest that must not ("afternoon" and "altitude", 0.65)."""

HEARD_FOR_EACH_OTHER = frozenset(
    {
        frozenset({"nine", "five"}),
        frozenset({"nine", "right"}),
        frozenset({"base", "eight"}),
    }
)
"""Pairs that the recogniser of this package took for each other when it was measured, though few of their
phones agree. The first is the reason for "niner" (AIM 4-2-8). They count as just alike."""

_WAYS_OF_A_PHRASE = 24
"""At most so many pronunciations of several words together are compared; three words seldom have more."""


class _Consonant(NamedTuple):
    place: int
    """From the lips (0) to the throat (5)."""
    manner: str
    voiced: bool


class _Vowel(NamedTuple):
    """Where the tongue is, high (0) to low (4) and front (0) to back (2), at the start and at the end."""

    height: int
    back: int
    end_height: int
    end_back: int

    @property
    def glides(self) -> bool:
        return abs(self.height - self.end_height) + abs(self.back - self.end_back) > 1


CONSONANTS = {
    phone: _Consonant(place, manner, voiced)
    for place, manner, voiceless, with_voice in (
        (0, "stop", "P", "B"),
        (2, "stop", "T", "D"),
        (4, "stop", "K", "G"),
        (3, "affricate", "CH", "JH"),
        (0, "fricative", "F", "V"),
        (1, "fricative", "TH", "DH"),
        (2, "fricative", "S", "Z"),
        (3, "fricative", "SH", "ZH"),
        (5, "breath", "HH", ""),
        (0, "nasal", "", "M"),
        (2, "nasal", "", "N"),
        (4, "nasal", "", "NG"),
        (0, "glide", "", "W"),
        (3, "glide", "", "Y"),
        (3, "glide", "", "R"),
        (2, "lateral", "", "L"),
    )
    for phone, voiced in ((voiceless, False), (with_voice, True))
    if phone
}

VOWELS = {
    "IY": _Vowel(0, 0, 0, 0),
    "IH": _Vowel(1, 0, 1, 0),
    "EY": _Vowel(2, 0, 2, 0),
    "EH": _Vowel(3, 0, 3, 0),
    "AE": _Vowel(4, 0, 4, 0),
    "ER": _Vowel(2, 1, 2, 1),
    "AH": _Vowel(3, 1, 3, 1),
    "UW": _Vowel(0, 2, 0, 2),
    "UH": _Vowel(1, 2, 1, 2),
    "OW": _Vowel(2, 2, 2, 2),
    "AO": _Vowel(3, 2, 3, 2),
    "AA": _Vowel(4, 2, 4, 2),
    "AY": _Vowel(4, 1, 1, 0),
    "AW": _Vowel(4, 1, 1, 2),
    "OY": _Vowel(3, 2, 1, 0),
}


def weight(phone: str) -> float:
    """What it costs that the phone is not heard, or is heard where there is none.

    A consonant 1, a vowel 1.5, the "uh" of unstressed syllables 0.7.
    """
    if phone == "AH":
        return 0.7
    return 1.5 if phone in VOWELS else 1.0


@cache
def unlikeness(phone: str, other: str) -> float:
    """What it costs to hear one phone for the other: 0 for the same, at most the weight of the heavier.

    Of that weight, for consonants: 0.2 for each step of place up to 0.6, 0.3 for the voice, 0.7 for the
    manner. So p/b, t/d, s/z and f/v cost 0.3, m/n 0.4, p/k 0.6, f/th 0.2, l/r 0.9, s/t 0.7, n/f 1. For
    vowels, on the mean of start and end: 0.2 for each step of height and 0.3 for each from front to back; 0.3
    if only one of them glides. A vowel and a consonant are never alike, but for "er" and r: 0.5.
    """
    if phone == other:
        return 0.0
    if phone in VOWELS and other in VOWELS:
        share = _between_vowels(VOWELS[phone], VOWELS[other])
    elif phone in CONSONANTS and other in CONSONANTS:
        share = _between_consonants(CONSONANTS[phone], CONSONANTS[other])
    else:
        return 0.5 if {phone, other} == {"ER", "R"} else max(weight(phone), weight(other))
    return min(share, 1.0) * max(weight(phone), weight(other))


def _between_consonants(a: _Consonant, b: _Consonant) -> float:
    place = min(0.2 * abs(a.place - b.place), 0.6)
    return place + 0.7 * (a.manner != b.manner) + 0.3 * (a.voiced != b.voiced)


def _between_vowels(a: _Vowel, b: _Vowel) -> float:
    height = (abs(a.height - b.height) + abs(a.end_height - b.end_height)) / 2
    back = (abs(a.back - b.back) + abs(a.end_back - b.end_back)) / 2
    return 0.2 * height + 0.3 * back + 0.3 * (a.glides != b.glides)


def edit_costs(
    a: Sequence[str], b: Sequence[str], gap: Callable[[str], float], change: Callable[[str, str], float]
) -> list[list[float]]:
    """The table of the weighted edit distance: row i, column j is the least cost from `a[:i]` to `b[:j]`.

    Written out because rapidfuzz has no costs by pair of symbols. Wagner and Fischer, 1974.
    """
    rows = [[0.0]]
    for symbol in b:
        rows[0].append(rows[0][-1] + gap(symbol))
    for of_a in a:
        above, row = rows[-1], [rows[-1][0] + gap(of_a)]
        for j, of_b in enumerate(b):
            row.append(min(above[j] + change(of_a, of_b), above[j + 1] + gap(of_a), row[j] + gap(of_b)))
        rows.append(row)
    return rows


def likeness(a: str, b: str) -> float:
    """0 for nothing in common to 1 for the same sound, by the closest of the pronunciations.

    Each is a word, or a few with spaces between them ("in sight"); a word that is not in the lexicon sounds
    as it is spelled. Symmetric. What has no sound at all is like nothing but itself.

    >>> likeness("sable", "table") > likeness("sable", "topaz")
    True
    """
    first, second = sorted((a.lower(), b.lower()))
    return 1.0 if first == second else _likeness(first, second)


@cache
def _likeness(a: str, b: str) -> float:
    least = ALIKE if frozenset({a, b}) in HEARD_FOR_EACH_OTHER else 0.0
    return max((least, *(_alike(x, y) for x in _ways(a) for y in _ways(b))))


@cache
def _ways(phrase: str) -> tuple[Pronunciation, ...]:
    """The pronunciations of one word or of several run together; none if there is no sound."""
    each = [pronunciations(word) or (spelled(word),) for word in phrase.split()]
    joined = (tuple(phone for part in way for phone in part) for way in product(*each))
    return tuple(way for way in islice(joined, _WAYS_OF_A_PHRASE) if way)


def _alike(a: Pronunciation, b: Pronunciation) -> float:
    cost = edit_costs(a, b, weight, unlikeness)[-1][-1]
    return max(0.0, 1.0 - cost / max(sum(map(weight, a)), sum(map(weight, b))))


def sound_alikes(word: str, among: Iterable[str], least: float = ALIKE) -> tuple[str, ...]:
    """The words of `among` that may be heard for `word`, the closest first, equals in alphabetical order.

    The word itself is not among them; another spelling of the same sound is.
    """
    others = {other for other in among if other.lower() != word.lower()}
    scored = ((likeness(word, other), other) for other in others)
    return tuple(other for alike, other in sorted(scored, key=lambda s: (-s[0], s[1])) if alike >= least)
