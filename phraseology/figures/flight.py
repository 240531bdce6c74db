"""The numbers of flying: runway, altitude, pressure, wind, distance, heading, speed."""

from collections.abc import Sequence

from phraseology.figures.style import NOTHING, NumberStyle, Words, as_said, checked
from phraseology.numbers import (
    DIGIT_VALUES,
    NUMBER_WORDS,
    Number,
    read_digits,
    read_run,
    read_scaled,
    say_digits,
    say_thousands,
    word_at,
)

_POINTS = frozenset({"point", "decimal"})
_KNOTS = frozenset({"knots"})
_DEGREES = frozenset({"degrees"})
_FEET = frozenset({"feet"})
_MILES = frozenset({"mile", "miles"})
_SCALES = frozenset({"hundred", "thousand"})
_HECTOPASCALS = frozenset({"hectopascal", "hectopascals"})
_GUSTS = frozenset({"gust", "gusts", "gusting"})
_PLAIN_MILES = frozenset({"ten", "eleven", "twelve"})
_SIDES = {"left": "left", "right": "right", "center": "center", "centre": "center"}
_TURNS = frozenset({"break", "closed", "base", "downwind", "hand", "turn", "traffic"})
"""Behind "left" or "right" these make it the side of a turn, not of a runway."""


# -- runway -----------------------------------------------------------------------------------------


def say_runway(value: str, style: NumberStyle) -> str:
    """ "31" or "8 left": "three one"; "eight left" or "zero eight left" (JO 7110.65 2-4-17j, Annex 10)."""
    match = checked(
        "0?([1-9]|[12][0-9]|3[0-6])(?: (left|right|center))?",
        value,
        'runway: write 1 to 36 and left, right or center if it has one, for instance "8 left"',
    )
    number = match[1].zfill(2) if style.runway_leading_zero else match[1]
    return f"{say_digits(number)} {match[2] or ''}".strip()


def read_runway(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "31" or "8 left", without a leading zero. "left" before a turn ("left break") is not the runway's."""
    run = read_run(words, start, 2)
    if run is None:
        return None
    two_digits = run.length == 2 and words[start] in DIGIT_VALUES
    if two_digits and int(run.figures) > 36 and word_at(words, start + 2) in NUMBER_WORDS:
        # "runway eight, two niner niner two": the second digit begins another number
        run = Number(run.figures[0], 1, run.standard)
    end = start + run.length
    side = _SIDES.get(word_at(words, end), "")
    if side and word_at(words, end + 1) in _TURNS:
        side = ""
    value = f"{int(run.figures)} {side}".strip()
    end += bool(side)
    spoken = [_SIDES.get(word, word) for word in words[:end]]
    return as_said(spoken, start, end, value, lambda: say_runway(value, style))


# -- altitude ---------------------------------------------------------------------------------------


def say_altitude(value: str, style: NumberStyle) -> str:
    """Feet "2700": "two thousand seven hundred"; "FL180": "flight level one eight zero" (AIM 4-2-9).

    Feet that are not whole hundreds go digit by digit with "feet" (JO 7110.65 2-4-17b3, minimums).
    """
    match = checked(
        "FL([1-9][0-9]{1,2})|([1-9][0-9]{1,4})", value, 'altitude: write feet as "2700" or a level as "FL180"'
    )
    if match[1]:
        whole = style.round_numbers and match[1].endswith("00")
        return f"flight level {say_thousands(int(match[1])) if whole else say_digits(match[1])}"
    feet = int(value)
    return say_thousands(feet) + (" feet" if style.feet_said or feet % 100 else "")


def read_altitude(words: Words, start: int, style: NumberStyle) -> Number | None:
    """Feet "2700", or "FL180". Bare figures are an altitude only in front of "feet"."""
    if tuple(words[start : start + 2]) == ("flight", "level"):
        level = read_run(words, start + 2, 3)
        if level is None:
            return None
        value = f"FL{int(level.figures)}"
        return as_said(words, start, start + 2 + level.length, value, lambda: say_altitude(value, style))
    number = read_scaled(words, start, _FEET, ones=False)
    if number is None:
        number = read_digits(words, start, 5)
        if number is None or word_at(words, start + number.length) != "feet":
            return None
    feet = str(int(number.figures))
    if feet == "0":
        return None
    end = start + number.length
    end += word_at(words, end) == "feet"
    return as_said(words, start, end, feet, lambda: say_altitude(feet, style), _FEET)


# -- pressure ---------------------------------------------------------------------------------------


def say_altimeter(value: str, style: NumberStyle) -> str:
    """Inches of mercury times 100, "2992": "two niner niner two" (JO 7110.65 2-4-17f)."""
    checked("[0-9]{4}", value, 'altimeter setting: write four figures, for instance "2992"')
    return say_digits(value)


def read_altimeter(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "2992", at least two figures as heard; "two niner point niner two" is understood."""
    run = read_run(words, start, 4, _POINTS)
    if run is None:
        return None
    figures, end = run.figures, start + run.length
    if len(figures) == 2 and word_at(words, end) in _POINTS and (more := read_run(words, end + 1, 2)):
        figures, end = figures + more.figures, end + 1 + more.length
    if len(figures) < 2 or not _SCALES.isdisjoint(words[start:end]):
        return None  # "two thousand nine hundred" is an altitude
    number = as_said(words, start, end, figures, lambda: say_altimeter(figures, style))
    return number._replace(standard=number.standard and style.pressure == "altimeter")


def say_qnh(value: str, style: NumberStyle) -> str:
    """Hectopascals "1013": "one zero one three"; 1000 and below by style (Annex 10, CAP 413)."""
    checked("[89][0-9]{2}|1[01][0-9]{2}", value, 'QNH: write 800 to 1199 hectopascals, for instance "1013"')
    if value == "1000" and style.round_numbers:
        return "one thousand"
    unit = " hectopascals" if style.hectopascals_below_1000 and int(value) < 1000 else ""
    return say_digits(value) + unit


def read_qnh(words: Words, start: int, style: NumberStyle) -> Number | None:
    """Hectopascals "1013", "995"; at least two figures as heard."""
    three = DIGIT_VALUES.get(word_at(words, start)) in ("8", "9")
    run = read_run(words, start, 3 if three else 4, _HECTOPASCALS)
    if run is None or len(run.figures) < 2:
        return None
    end = start + run.length
    end += word_at(words, end) in _HECTOPASCALS
    value = run.figures.lstrip("0") or "0"
    must = style.hectopascals_below_1000 and int(value) < 1000
    number = as_said(
        words, start, end, value, lambda: say_qnh(value, style), NOTHING if must else _HECTOPASCALS
    )
    return number._replace(standard=number.standard and style.pressure == "qnh")


# -- wind -------------------------------------------------------------------------------------------


def say_wind(value: str, style: NumberStyle) -> str:
    """ "310/8", "310/8/15" with gusts, "variable/5", "calm"; in degrees and knots.

    "three one zero at eight gusts one five" (JO 7110.65 2-4-17g), or "three one zero degrees eight knots
    gusting one five knots" (Annex 10 vol. II 5.2.1.4.1.1).
    """
    if value == "calm":
        return value
    match = checked(
        "([0-9]{3}|variable)/([0-9]{1,2})(?:/([0-9]{1,2}))?",
        value,
        'wind: write direction/speed, gusts behind, for instance "310/8" or "310/8/15"; or "calm"',
    )
    speeds = [str(int(speed)) for speed in match.groups()[1:] if speed]
    return _wind_words(match[1], speeds, style)


def _wind_words(direction: str, speeds: Sequence[str], style: NumberStyle) -> str:
    named = direction == "variable"
    words = direction if named else say_digits(direction)
    spoken = [say_digits(speed) for speed in speeds]
    if style.wind_form == "at":
        return f"{words} at {' gusts '.join(spoken)}"
    unit = "" if named else " degrees"
    return f"{words}{unit} {' knots gusting '.join(spoken)} knots"


def read_wind(words: Words, start: int, style: NumberStyle) -> Number | None:
    """The forms of `say_wind`. A direction has three figures; a speed's leading zero may be said."""
    if word_at(words, start) == "calm":
        return Number("calm", 1, standard=True)
    place = start + 1
    direction = "variable"
    if word_at(words, start) != direction:
        run = read_run(words, start, 3, _DEGREES)
        if run is None or len(run.figures) != 3:
            return None
        direction, place = run.figures, start + run.length
        place += word_at(words, place) == "degrees"
    place += word_at(words, place) == "at"
    speed = read_run(words, place, 2, _KNOTS)
    if speed is None:
        return None
    speeds, end = [speed.figures], _behind(words, place + speed.length, "knots")
    if word_at(words, end) in _GUSTS:
        place = _behind(words, end + 1, "to")
        if gusts := read_run(words, place, 2, _KNOTS):
            speeds.append(gusts.figures)
            end = _behind(words, place + gusts.length, "knots")
    value = "/".join([direction, *(str(int(figures)) for figures in speeds)])
    free = _KNOTS if style.wind_form == "at" else NOTHING
    return as_said(words, start, end, value, lambda: _wind_words(direction, speeds, style), free)


def _behind(words: Words, place: int, word: str) -> int:
    """The place behind `word`, if it stands there; it need not."""
    return place + (word_at(words, place) == word)


# -- distance, heading, speed -----------------------------------------------------------------------


def say_distance(value: str, style: NumberStyle, unit: str = "mile") -> str:
    """Nautical miles "3", "10", "1.5" with the unit word: "one zero mile" (JO 7110.65 2-4-17n)."""
    match = checked(
        r"([1-9][0-9]{0,2}|0(?=[.][1-9]))(?:[.]([0-9]))?",
        value,
        'distance: write miles, for instance "3" or "1.5"',
    )
    part = f" {style.point_word} {say_digits(match[2])}" if match[2] else ""
    return f"{say_digits(match[1])}{part} {unit}"


def read_distance(words: Words, start: int, style: NumberStyle, most: int = 2) -> Number | None:
    """Miles "3", "1.5", at most `most` figures before the point; the word "mile" or "miles" must follow.

    Ten, eleven and twelve are plain English in every standard.
    """
    run = read_run(words, start, most, _MILES | _POINTS)
    if run is None:
        return None
    value, place = str(int(run.figures)), start + run.length
    if word_at(words, place) in _POINTS:
        part = read_run(words, place + 1, 1, _MILES)
        if part is None:
            return None
        value, place = f"{value}.{part.figures}", place + 1 + part.length
    if word_at(words, place) not in _MILES or value == "0":
        return None
    number = as_said(words, start, place + 1, value, lambda: say_distance(value, style), _MILES)
    plain = run.length == 1 and words[start] in _PLAIN_MILES and place == start + 1
    return number._replace(standard=number.standard or plain)


def say_heading(value: str, style: NumberStyle) -> str:
    """Three figures "005": "zero zero five" (JO 7110.65 2-4-17h, AIM 4-2-10)."""
    checked("[0-9]{3}", value, 'heading: write three figures, for instance "005"')
    return say_digits(value)


def read_heading(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "310"; fewer figures as heard. "degrees" may follow."""
    run = read_run(words, start, 3, _DEGREES)
    if run is None:
        return None
    end = _behind(words, start + run.length, "degrees")
    return as_said(words, start, end, run.figures, lambda: say_heading(run.figures, style), _DEGREES)


def say_speed(value: str, style: NumberStyle) -> str:
    """Knots "200": "two zero zero knots" (AIM 4-2-11)."""
    checked("[1-9][0-9]{1,2}", value, 'speed: write knots, for instance "200"')
    return f"{say_digits(value)} knots"


def read_speed(words: Words, start: int, style: NumberStyle) -> Number | None:
    """Knots "200", two figures at least; without the word "knots" it is understood, not standard."""
    run = read_run(words, start, 3, _KNOTS)
    if run is None or len(run.figures) < 2:
        return None
    value = str(int(run.figures))
    end = _behind(words, start + run.length, "knots")
    return as_said(words, start, end, value, lambda: say_speed(value, style))
