"""How the trade says it: figures one at a time, "niner", letters by their names, small pauses around figures.

`read_out` makes words of figures and letters that somebody typed; the words of `phraseology` pass unchanged.
`engine_text` respells the few words that the espeak voices say wrongly, and parts the figures from the rest.
Each respelling was found by listing the phonemes of the trade's words; everything else comes out right.
"""

import re
from enum import StrEnum

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")
_NAMES = """alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar papa
    quebec romeo sierra tango uniform victor whiskey x-ray yankee zulu"""
LETTERS = {name[0]: name for name in _NAMES.split()}
"""ICAO Annex 10 vol. II, figure 5-1."""


class Manner(StrEnum):
    """How figures are pronounced.

    Both ask for "niner". ICAO's table of figures (Annex 10 vol. II 5.2.1.4.3.1) has "tree", "fow-er", "fife",
    "tou-sand", "day-see-mal"; the FAA's (AIM 4-2-8) the first three too, but US towers say only "niner"
    (common practice). "Affirm" is "ay-firm" (CAP 413, from memory).
    """

    US = "us"
    ICAO = "icao"


RESPELLED = {
    "altimeter": "al-timmiter",
    "atis": "aitiss",
    "quebec": "kebeck",
    "papa": "pa-pah",
    "qnh": "q n h",
    "qfe": "q f e",
    "ils": "i l s",
    "ifr": "i f r",
    "uhf": "u h f",
}
RESPELLED_ICAO = {
    "three": "tree",
    "four": "fower",
    "five": "fife",
    "thousand": "tousand",
    "decimal": "dayseemal",
    "affirm": "aifirm",
}
PAUSE = "\x011B"
"""espeak's embedded command for the shortest pause before the next word: 0.07 s at 165 words a minute."""

_WORD = re.compile(r"[a-z']+")
_FIGURE = "zero|one|two|three|tree|four|fower|five|fife|six|seven|eight|niner"
_JOINED = f"{_FIGURE}|point|decimal|dayseemal|hundred|thousand|tousand"
_GROUP = re.compile(rf"\b(?:{_FIGURE})(?: +(?:{_JOINED}))+\b(?!-)")
_SIDES = {"L": "left", "R": "right", "C": "center"}
_RUNWAY = re.compile(r"\b(\d{1,2})([LRC])\b")
_ROUND = re.compile(r"\b(\d{1,2}),(\d)00\b")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_INCHES = re.compile(r"(?<=altimeter )(\d\d)\.(\d\d)\b", re.IGNORECASE)
_LETTER = re.compile(r"(?<=[Ii]nformation )([A-Za-z])\b|\b([B-HJ-Z])\b")
_WIND = re.compile(r"\b(\d{3})/(\d{1,2})\b")


def read_out(text: str, manner: Manner = Manner.US) -> str:
    """What was typed, as the words that a controller would say.

    "SABLE 21, runway 31L" is "sable two one, runway three one left"; "2,700" in thousands and hundreds, other
    numbers digit by digit; the letter of the information, and capital letters alone, by their names.
    """
    text = _INCHES.sub(r"\1\2", text)
    text = _WIND.sub(r"\1 at \2" if manner is Manner.US else r"\1 degrees \2 knots", text)
    text = _RUNWAY.sub(lambda match: f"{_digits(match[1])} {_SIDES[match[2]]}", text)
    text = _ROUND.sub(_thousands, text)
    point = "decimal" if manner is Manner.ICAO else "point"
    text = _NUMBER.sub(lambda match: f" {_digits(match[0], point)} ", text)
    text = _LETTER.sub(lambda match: LETTERS[(match[1] or match[2]).lower()], text)
    text = re.sub(r"\bnine\b", "niner", text.lower())
    return re.sub(r" +(?=[,.;:?!]|$)", "", re.sub(r"\s+", " ", text)).strip()


def _digits(figures: str, point: str = "point") -> str:
    return " ".join(point if figure == "." else DIGITS[int(figure)] for figure in figures)


def _thousands(match: re.Match[str]) -> str:
    hundreds = f" {DIGITS[int(match[2])]} hundred" if match[2] != "0" else ""
    return f"{_digits(match[1])} thousand{hundreds}"


def respelled(text: str, manner: Manner = Manner.US) -> str:
    """`text` (words, commas between clauses) with those words respelled.

    Commas stay: they are the pauses. Capitals become small letters, so that no word is spelled out.
    """
    return _with(RESPELLED | RESPELLED_ICAO if manner is Manner.ICAO else RESPELLED, text)


def _with(table: dict[str, str], text: str) -> str:
    return _WORD.sub(lambda match: table.get(match[0], match[0]), text.lower())


def engine_text(text: str, engine: str, manner: Manner = Manner.US) -> str:
    """What an engine is given for these words.

    espeak gets them respelled, with a small pause before and after each group of figures; piper, which takes
    its phonemes from espeak, respelled; the systems' own voices as they stand, but for the manner.
    """
    if engine == "espeak":
        return _GROUP.sub(_parted, respelled(text, manner))
    if engine == "piper":
        return respelled(text, manner)
    return _with(RESPELLED_ICAO, text) if manner is Manner.ICAO else text


def _parted(match: re.Match[str]) -> str:
    before, after = match.string[: match.start()].rstrip(), match.string[match.end() :].lstrip()
    lead = PAUSE if before and before[-1].isalnum() else ""
    tail = f" {PAUSE}" if after[:1].isalnum() else ""
    return f"{lead}{match[0]}{tail}"
