"""From written text to spoken words.

People write "SABLE 21, runway 31, 2,700 ft"; the trade says "sable two one runway three one two
thousand seven hundred feet". Everything behind this module sees the second form only.
"""

import re
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from phraseology.numbers import say_digits, say_thousands

_FIGURE = re.compile(r"[0-9]+(?:,[0-9]{3})*(?:\.[0-9]+)?")
_PIECE = re.compile(rf"[a-z]+(?:'[a-z]+)?|{_FIGURE.pattern}")
_DIGITWISE_AFTER = frozenset({"altimeter", "qnh", "wind", "heading", "squawk", "runway"})
_ONE_SPELLING = {
    "alpha": "alfa",
    "juliet": "juliett",
    "standby": "stand by",
    "readback": "read back",
    "insight": "in sight",
    "ft": "feet",
    "nm": "miles",
    "kts": "knots",
    "rwy": "runway",
    "callsign": "call sign",
    "northeast": "north east",
    "northwest": "north west",
    "southeast": "south east",
    "southwest": "south west",
    "climbout": "climb out",
    "goaround": "go around",
    "breakout": "break out",
    "tower's": "tower",
}


class Normaliser(NamedTuple):
    """One step from written text to words; the name says what it hides, and nothing else is hidden."""

    name: str
    apply: Callable[[str], str]


def _split_runway_letters(text: str) -> str:
    sides = {"l": "left", "r": "right", "c": "center"}
    return re.sub(r"\b([0-9]{1,2})([lrc])\b", lambda m: f"{m[1]} {sides[m[2]]}", text)


NORMALISERS: tuple[Normaliser, ...] = (
    Normaliser("case", str.lower),
    Normaliser("curly quotes", lambda text: text.replace("\u2019", "'")),
    Normaliser("x-ray is one word", lambda text: text.replace("x-ray", "xray").replace("x ray", "xray")),
    Normaliser("runway side letters", _split_runway_letters),
)


def _figures(figure: str, before: str) -> str:
    """The words that say a written number, given the word written before it."""
    plain = figure.replace(",", "")
    if "." in plain:
        whole, part = plain.split(".")
        joint = " " if len(whole) == 2 and len(part) == 2 else " point "
        return say_digits(whole) + joint + say_digits(part)
    is_level = len(plain) in (4, 5) and plain.endswith("00") and int(plain) > 0
    if is_level and before not in _DIGITWISE_AFTER:
        return say_thousands(int(plain))
    return say_digits(plain)


@lru_cache(maxsize=4096)
def tokens(text: str) -> tuple[str, ...]:
    """The spoken words of a written or recognised text, lower case, one spelling a word.

    >>> tokens("SABLE 21, runway 31, 2,700 ft")
    ('sable', 'two', 'one', 'runway', 'three', 'one', 'two', 'thousand', 'seven', 'hundred', 'feet')
    """
    for step in NORMALISERS:
        text = step.apply(text)
    words: list[str] = []
    for piece in _PIECE.findall(text):
        spoken = (
            _figures(piece, words[-1] if words else "")
            if _FIGURE.fullmatch(piece)
            else _ONE_SPELLING.get(piece, piece)
        )
        words.extend(spoken.split())
    return tuple(words)
