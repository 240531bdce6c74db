"""Numbers as the trade says them, both ways.

Sources: FAA JO 7110.65 2-4-17 and AIM 4-2-8 to 4-2-11 (altitudes in thousands and hundreds,
everything else digit by digit, nine as "niner").
"""

from collections.abc import Sequence
from typing import NamedTuple

DIGIT_WORDS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")

DIGIT_VALUES = {word: str(value) for value, word in enumerate(DIGIT_WORDS)} | {
    "tree": "3",
    "fower": "4",
    "fife": "5",
    "ait": "8",
    "nine": "9",
    "oh": "0",
}
CARELESS_DIGITS = frozenset({"nine", "oh"})
"""Understood, but not how the trade says the digit (AIM 4-2-7)."""

TEEN_VALUES = {
    "ten": "10",
    "eleven": "11",
    "twelve": "12",
    "thirteen": "13",
    "fourteen": "14",
    "fifteen": "15",
    "sixteen": "16",
    "seventeen": "17",
    "eighteen": "18",
    "nineteen": "19",
}
TENS_VALUES = {
    "twenty": "2",
    "thirty": "3",
    "forty": "4",
    "fifty": "5",
    "sixty": "6",
    "seventy": "7",
    "eighty": "8",
    "ninety": "9",
}

NUMBER_WORDS = DIGIT_VALUES.keys() | TEEN_VALUES.keys() | TENS_VALUES.keys()
_GROUP_WORDS = TEEN_VALUES.keys() | TENS_VALUES.keys()

UNIT_WORDS = frozenset({"thousand", "hundred", "point", "decimal", "mile", "miles", "feet", "knots"}) | {
    *("degrees", "minute", "minutes", "hour", "hours", "hectopascal", "hectopascals"),
}
"""A number in front of one of these belongs to it: "runway six five miles" is runway 6, at five miles."""


class Number(NamedTuple):
    """A number found in words: its figures, how many words it took, and if said the trade's way."""

    figures: str
    length: int
    standard: bool


def say_digits(figures: str) -> str:
    """Digit by digit: "21" is "two one"."""
    return " ".join(DIGIT_WORDS[int(figure)] for figure in figures)


def say_thousands(feet: int) -> str:
    """An altitude in thousands and hundreds: 2700 is "two thousand seven hundred", 11000 "one one thousand".

    Falls back to digit by digit where there are tens or ones, which altitudes in the pattern never have.
    """
    thousands, rest = divmod(feet, 1000)
    hundreds, odd = divmod(rest, 100)
    if odd or not feet:
        return say_digits(str(feet))
    parts = []
    if thousands:
        parts.append(f"{say_digits(str(thousands))} thousand")
    if hundreds:
        parts.append(f"{say_digits(str(hundreds))} hundred")
    return " ".join(parts)


def read_digits(words: Sequence[str], start: int, most: int) -> Number | None:
    """The run of spoken digits at `start`, at most `most` figures.

    Group form ("twenty one") is understood and not standard.
    """
    figures, place, standard = "", start, True
    while place < len(words) and len(figures) < most:
        word = words[place]
        if word in DIGIT_VALUES:
            figures += DIGIT_VALUES[word]
            standard = standard and word not in CARELESS_DIGITS
            place += 1
        elif word in TEEN_VALUES and len(figures) + 2 <= most:
            figures += TEEN_VALUES[word]
            standard = False
            place += 1
        elif word in TENS_VALUES and len(figures) + 2 <= most:
            following = words[place + 1] if place + 1 < len(words) else ""
            unit = DIGIT_VALUES.get(following, "0")
            takes_unit = unit != "0"
            figures += TENS_VALUES[word] + (unit if takes_unit else "0")
            standard = False
            place += 2 if takes_unit else 1
        else:
            break
    return Number(figures, place - start, standard) if figures else None


def read_thousands(words: Sequence[str], start: int) -> Number | None:
    """An altitude said with "thousand" or "hundred" at `start`, in feet; None if there is neither word."""
    lead = read_digits(words, start, 2)
    if lead is None:
        return None
    place = start + lead.length
    unit = words[place] if place < len(words) else ""
    if unit == "hundred":
        return Number(str(int(lead.figures) * 100), lead.length + 1, lead.standard and len(lead.figures) == 1)
    if unit != "thousand":
        return None
    feet, length, standard = int(lead.figures) * 1000, lead.length + 1, lead.standard
    more = read_digits(words, start + length, 1)
    after = start + length + (more.length if more else 0)
    if more and after < len(words) and words[after] == "hundred":
        feet += int(more.figures) * 100
        length += more.length + 1
        standard = standard and more.standard
    return Number(str(feet), length, standard)


def read_scaled(
    words: Sequence[str], start: int, own: frozenset[str] = frozenset(), *, ones: bool = True
) -> Number | None:
    """A whole number with "thousand" or "hundred" and, in plain English, what follows it.

    "one hundred fifty" is 150, "one thousand and thirteen" 1013, "two thousand seven fifty" 2750.
    With `ones` False a single figure behind is left: "two thousand seven" could be meant as 2,700.
    Units of `own` may follow the number.
    """
    base = read_thousands(words, start)
    if base is None:
        return None
    end = start + base.length
    place = end + (word_at(words, end) == "and")
    first, second = word_at(words, place), word_at(words, place + 1)
    if first in _GROUP_WORDS:
        most = 2
    elif word_at(words, end - 1) == "thousand" and first in DIGIT_VALUES and second in _GROUP_WORDS:
        most = 3
    else:
        most = 1 if ones or place > end else 0
    more = read_digits(words, place, most)
    after = word_at(words, place + more.length) if more else ""
    if more is None or after in NUMBER_WORDS or after in UNIT_WORDS - own:
        return base
    figures = str(int(base.figures) + int(more.figures))
    return Number(figures, place + more.length - start, standard=False)


def read_run(words: Sequence[str], start: int, most: int, own: frozenset[str] = frozenset()) -> Number | None:
    """Like `read_digits`, and knows "hundred" and "thousand" and whose number it is.

    "two hundred" is 200 and "twelve hundred" 1200 where so many figures fit. A last number in front of
    a unit that is not in `own` belongs to that unit and is left to it.
    """
    run = read_digits(words, start, most)
    if run is None:
        return None
    end = start + run.length
    after = word_at(words, end)
    if after in ("hundred", "thousand") and run.length == 1:
        scaled = read_scaled(words, start, own)
        behind = word_at(words, start + scaled.length) if scaled else ""
        if scaled and len(scaled.figures) <= most and behind not in UNIT_WORDS - own:
            return scaled
    if after not in UNIT_WORDS - own:
        return run
    end -= 1
    if end > start and words[end - 1] in TENS_VALUES and DIGIT_VALUES.get(words[end], "0") != "0":
        end -= 1  # "twenty five miles" is one number
    return read_digits(words[:end], start, most)


def word_at(words: Sequence[str], place: int) -> str:
    """The word at `place`, or nothing behind the last one."""
    return words[place] if place < len(words) else ""
