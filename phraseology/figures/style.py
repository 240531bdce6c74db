"""How a standard says its numbers, and whether words were said so."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from phraseology.errors import PhraseologyError
from phraseology.numbers import CARELESS_DIGITS, DIGIT_VALUES, DIGIT_WORDS, Number

Words = Sequence[str]
NOTHING: frozenset[str] = frozenset()

_PLAIN = {word: DIGIT_WORDS[int(v)] for word, v in DIGIT_VALUES.items() if word not in CARELESS_DIGITS}


@dataclass(frozen=True)
class NumberStyle:
    """What differs between standards in saying numbers. The defaults are the FAA's."""

    runway_leading_zero: bool = False
    """Runway 8 is "zero eight" (ICAO), not "eight" (FAA)."""
    point_word: Literal["point", "decimal"] = "point"
    pressure: Literal["altimeter", "qnh"] = "altimeter"
    """Which setting is given here: inches of mercury or hectopascals. The other is not standard."""
    wind_form: Literal["at", "degrees"] = "at"
    """ "three one zero at eight" or "three one zero degrees eight knots"."""
    frequency_in_full: bool = False
    """All six figures unless the last two are zeros (ICAO); else the third decimal may be left out (FAA)."""
    feet_said: bool = False
    """An altitude ends with "feet"."""
    round_numbers: bool = False
    """Flight level "two hundred", QNH "one thousand", code "seven thousand" (SERA.14035, CAP 413)."""
    hectopascals_below_1000: bool = False
    """ "niner niner five hectopascals" (CAP 413)."""
    callsign_groups: bool = False
    """A callsign's figures may be said in group form, as airlines' are (JO 7110.65 2-4-20)."""


def checked(pattern: str, value: str, remedy: str) -> re.Match[str]:
    match = re.fullmatch(pattern, value)
    if match is None:
        raise PhraseologyError(f'"{value}" is no {remedy}')
    return match


def as_said(
    words: Words, start: int, end: int, value: str, model: Callable[[], str], free: frozenset[str] = NOTHING
) -> Number:
    """The value with its standing: standard if the words are the model's, leaving out the `free` ones.

    "tree" and "three" are the same word, "nine" and "niner" are not.
    """
    try:
        wanted = [word for word in model().split() if word not in free]
    except PhraseologyError:
        wanted = []  # as heard it is no value at all
    said = [_PLAIN.get(word, word) for word in words[start:end] if word not in free]
    return Number(value, end - start, said == wanted)
