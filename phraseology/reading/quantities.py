"""What is said with a number: runway, wind, pressure, altitude, distance and the like."""

from phraseology.elements import Element, Kind
from phraseology.figures import (
    read_altimeter,
    read_altitude,
    read_count,
    read_distance,
    read_frequency,
    read_fuel,
    read_heading,
    read_qnh,
    read_readability,
    read_runway,
    read_speed,
    read_time,
    read_wind,
)
from phraseology.numbers import read_digits
from phraseology.phrases import DIRECTIONS
from phraseology.reading.cursor import Words, numbered

PRESSURES = ("28", "29", "30", "31")
"""First figures of an altimeter setting in inches: a bare run of four figures is one."""

MILES = frozenset({"mile", "miles"})
UNITS = MILES | {
    "thousand",
    "hundred",
    "feet",
    "knots",
    "point",
    "decimal",
    "minutes",
    "degrees",
    "hectopascals",
}
_BEFORE_ALTITUDE = frozenset(
    {"above", "altitude", "maintain", "maintaining", "passing", "climbing", "descending", "level", "at"}
)


def runway(words: Words, at: int) -> Element | None:
    if words.at(at) != "runway":
        return None
    return numbered(Kind.RUNWAY, at, at + 1, read_runway(words.said, at + 1, words.style))


def wind(words: Words, at: int) -> Element | None:
    start = at + 1 if words.at(at) == "wind" else at + 2 if words.starts(at, "surface wind") else at
    if start == at:
        return None
    return numbered(Kind.WIND, at, start, read_wind(words.said, start, words.style))


def altimeter(words: Words, at: int) -> Element | None:
    named = words.at(at) == "altimeter"
    start = words.behind(at + named, ("is",))
    number = read_altimeter(words.said, start, words.style)
    if number is None:
        return None
    is_pressure = len(number.figures) == 4 and number.figures[:2] in PRESSURES
    an_altitude = words.at(at - 1) in _BEFORE_ALTITUDE or words.at(start + number.length) == "feet"
    if not named and (not is_pressure or an_altitude):
        return None
    return numbered(Kind.ALTIMETER, at, start, number)


def qnh(words: Words, at: int) -> Element | None:
    if words.at(at) != "qnh":
        return None
    start = words.behind(at + 1, ("is",))
    return numbered(Kind.QNH, at, start, read_qnh(words.said, start, words.style))


def heading(words: Words, at: int) -> Element | None:
    if words.at(at) != "heading":
        return None
    return numbered(Kind.HEADING, at, at + 1, read_heading(words.said, at + 1, words.style))


def speed(words: Words, at: int) -> Element | None:
    """ "speed two zero zero knots", or the knots without the word in front."""
    named = words.at(at) == "speed"
    number = read_speed(words.said, at + named, words.style)
    if number is None:
        return None
    has_unit = words.at(at + named + number.length - 1) == "knots"
    if not named and not has_unit:
        return None
    if named and not has_unit:  # the word in front says as much
        digits = read_digits(words.said, at + named, 3)
        number = number._replace(standard=digits is not None and digits.standard)
    return numbered(Kind.SPEED, at, at + named, number)


def frequency(words: Words, at: int) -> Element | None:
    """ "decimal" is honoured from military aircraft where "point" is the word (AIM 4-2-8)."""
    said = words.said
    if "point" not in said and "decimal" not in said:
        return None
    if words.style.point_word == "point" and "decimal" in said:
        said = tuple("point" if word == "decimal" else word for word in said)
    return numbered(Kind.FREQUENCY, at, at, read_frequency(said, at, words.style))


def time(words: Words, at: int) -> Element | None:
    if words.at(at) != "time":
        return None
    return numbered(Kind.TIME, at, at + 1, read_time(words.said, at + 1, words.style))


def fuel(words: Words, at: int) -> Element | None:
    """ "two zero minutes fuel", "fuel two zero minutes", "fuel remaining thirty minutes"."""
    start = words.behind(at, ("fuel", "remaining", "of"))
    number = read_fuel(words.said, start, words.style)
    if number is None:
        return None
    if number.figures == "0":
        return None
    end = words.behind(start + number.length, ("of", "fuel", "remaining"))
    return Element(Kind.FUEL, number.figures, at, end, number.standard)


def souls(words: Words, at: int) -> Element | None:
    """ "two souls on board", "two on board", "souls on board two"."""
    people = ("souls", "soul", "persons", "people", "pob")
    start = words.behind(at, (*people, "on", "board")) if words.at(at) in people else at
    number = read_count(words.said, start, words.style)
    if number is None:
        return None
    after = start + number.length
    counted = words.at(after) in people or words.starts(after, "on board")
    if start == at and not counted:
        return None
    end = after
    if counted:
        end = after + (words.at(after) in people)
        end += 2 if words.starts(end, "on board") else 0
    return Element(Kind.SOULS, number.figures, at, end, number.standard)


def readability(words: Words, at: int) -> Element | None:
    lead = next((lead for lead in ("readability", "read you", "reading you") if words.starts(at, lead)), None)
    if lead is None:
        return None
    start = at + len(lead.split())
    return numbered(Kind.READABILITY, at, start, read_readability(words.said, start, words.style))


def break_after(words: Words, at: int) -> Element | None:
    """ "break in five seconds"."""
    if words.at(at) not in ("break", "breaking") or words.at(at + 1) != "in":
        return None
    number = read_count(words.said, at + 2, words.style)
    if number is None or words.at(at + 2 + number.length) != "seconds":
        return None
    return Element(Kind.BREAK, f"in {number.figures}", at, at + 3 + number.length, number.standard)


def sequence(words: Words, at: int) -> Element | None:
    if words.at(at) != "number" or (number := read_digits(words.said, at + 1, 1)) is None:
        return None
    return numbered(Kind.SEQUENCE, at, at + 1, number)


def altitude(words: Words, at: int) -> Element | None:
    number, standard = read_altitude(words.said, at, words.style), True
    if number is None and words.at(at - 1) in _BEFORE_ALTITUDE:
        number, standard = read_digits(words.said, at, 5), False
        if number is None or len(number.figures) < 3 or int(number.figures) == 0:
            return None
    if number is None:
        return None
    value = number.figures.lstrip("0")
    return Element(Kind.ALTITUDE, value, at, at + number.length, number.standard and standard)


def where(words: Words, at: int) -> Element | None:
    """ "ten miles west"."""
    number = read_distance(words.said, at, words.style)
    if number is None or "." in number.figures:
        return None
    return _direction(
        words, number.figures, at, words.behind(at + number.length, ("to", "the")), number.standard
    )


def where_in_short(words: Words, at: int) -> Element | None:
    """ "ten west": the miles left out."""
    number = read_digits(words.said, at, 2)
    return number and _direction(words, number.figures, at, at + number.length, standard=False)


def _direction(words: Words, miles: str, at: int, place: int, standard: bool) -> Element | None:
    if miles[0] == "0":
        return None
    for direction in DIRECTIONS:
        if words.starts(place, direction):
            value = f"{int(miles)} {direction.replace(' ', '')}"
            return Element(Kind.WHERE, value, at, place + len(direction.split()), standard)
    return None


def distance(words: Words, at: int) -> Element | None:
    """Miles of an initial or a final: one figure, or plain ten; two figures are the end of something else."""
    number = read_distance(words.said, at, words.style, most=2)
    if number is None or "." in number.figures or number.length != 2:
        return None
    return Element(Kind.DISTANCE, number.figures, at, at + number.length, number.standard)
