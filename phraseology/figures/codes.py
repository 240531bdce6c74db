"""Numbers that stand for something: time, frequency, transponder code, a callsign's figures."""

import re

from phraseology.figures.style import NumberStyle, Words, as_said, checked
from phraseology.numbers import TEEN_VALUES, TENS_VALUES, Number, read_run, say_digits, say_thousands, word_at

_POINTS = frozenset({"point", "decimal"})
_ZULU = frozenset({"zulu"})
_TIME_UNITS = frozenset({"hundred", "minutes", "hours"})
_TEENS = {figures: word for word, figures in TEEN_VALUES.items()}
_TENS = {figure: word for word, figure in TENS_VALUES.items()}


# -- time, frequency, code --------------------------------------------------------------------------


def say_time(value: str, style: NumberStyle) -> str:
    """UTC "0710", or minutes past the hour "10", digit by digit (JO 7110.65 2-4-17c, Annex 10)."""
    checked("(?:[01][0-9]|2[0-3])?[0-5][0-9]", value, 'time: write UTC as "0710" or minutes as "10"')
    return say_digits(value)


def read_time(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "0710" or "10"; "zero seven hundred" is understood. "zulu" may follow."""
    run = read_run(words, start, 4, _TIME_UNITS)
    if run is None:
        return None
    figures, end = run.figures, start + run.length
    if len(figures) == 2 and word_at(words, end) == "hundred":
        figures, end = f"{figures}00", end + 1
    end += word_at(words, end) == "zulu"
    return as_said(words, start, end, figures, lambda: say_time(figures, style), _ZULU)


def say_frequency(value: str, style: NumberStyle) -> str:
    """Megahertz "118.1", "257.8", "121.505": "one one eight point one".

    FAA: figures behind the second decimal are left out (JO 7110.65 2-4-17k), which only the 25 kHz steps
    allow without doubt. ICAO: all six figures unless the last two are zeros (Annex 10 5.2.1.7.3.4).
    """
    match = checked(
        r"([0-9]{3})\.([0-9]{1,3})", value, 'frequency: write megahertz with decimals, for instance "118.1"'
    )
    part = _decimals(match[2])
    if style.frequency_in_full and len(part) == 2:
        part += "0"
    elif not style.frequency_in_full and part[1:] in ("25", "75"):
        part = part[:2]
    return f"{say_digits(match[1])} {style.point_word} {say_digits(part)}"


def _decimals(said: str) -> str:
    """One spelling of the decimals: no zeros at the end, and the 5 of a 25 kHz step though it was left out.

    Channels end in .x2 or .x7 only as .x25 and .x75.
    """
    part = said.rstrip("0") or "0"
    return f"{part}5" if len(said) == 2 and said[1] in "27" else part


def read_frequency(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "118.1", "121.505": three figures, "point" or "decimal", one to three more."""
    whole = read_run(words, start, 3, _POINTS)
    place = start + whole.length if whole else start
    if whole is None or len(whole.figures) != 3 or word_at(words, place) not in _POINTS:
        return None
    part = read_run(words, place + 1, 3)
    if part is None:
        return None
    decimals = _decimals(part.figures)
    value = f"{whole.figures}.{decimals}"
    end = place + 1 + part.length
    number = as_said(words, start, end, value, lambda: say_frequency(value, style))
    if number.standard or style.frequency_in_full:
        return number
    in_full = f"{say_digits(whole.figures)} {style.point_word} {say_digits(decimals)}"
    return as_said(words, start, end, value, lambda: in_full)


def say_code(value: str, style: NumberStyle) -> str:
    """A transponder code "4203": "four two zero three" (JO 7110.65 2-4-17i)."""
    checked("[0-7]{4}", value, 'transponder code: write four figures from 0 to 7, for instance "4203"')
    whole = style.round_numbers and value.endswith("000") and value != "0000"
    return say_thousands(int(value)) if whole else say_digits(value)


def read_code(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "4203"; fewer figures as heard. "twelve hundred" is understood."""
    run = read_run(words, start, 4)
    if run is None:
        return None
    return as_said(words, start, start + run.length, run.figures, lambda: say_code(run.figures, style))


# -- callsigns and counts ---------------------------------------------------------------------------


def say_callsign_figures(value: str, style: NumberStyle) -> str:
    """ "421": "four two one", never grouped (JO 7110.65 2-4-9); for group form see `say_grouped`."""
    checked("[0-9]{1,8}", value, 'callsign\'s figures: write figures only, for instance "21"')
    return say_digits(value)


def say_grouped(value: str) -> str:
    """Group form: "421" is "four twenty one", "3015" "thirty fifteen", "100" "one hundred".

    Zeros break the group: "101" is "one zero one", "1004" "ten zero four" (JO 7110.65 2-4-20).
    """
    checked("[0-9]{1,8}", value, 'callsign\'s figures: write figures only, for instance "21"')
    if re.fullmatch("[1-9]00", value):
        return f"{say_digits(value[0])} hundred"
    if re.fullmatch("0.*|[1-9]0[0-9]|[0-9]{2}00", value):
        return say_digits(value)
    first = value[: len(value) % 2]
    pairs = [value[at : at + 2] for at in range(len(first), len(value), 2)]
    return " ".join([*([say_digits(first)] if first else []), *(_pair(pair) for pair in pairs)])


def _pair(figures: str) -> str:
    if figures in _TEENS:
        return _TEENS[figures]
    if figures[0] == "0":
        return say_digits(figures)
    return _TENS[figures[0]] + (f" {say_digits(figures[1])}" if figures[1] != "0" else "")


def read_callsign_figures(words: Words, start: int, style: NumberStyle, most: int = 4) -> Number | None:
    """ "421", at most `most` figures, in either form."""
    run = read_run(words, start, most)
    if run is None:
        return None
    end = start + run.length
    number = as_said(words, start, end, run.figures, lambda: say_callsign_figures(run.figures, style))
    if number.standard or not style.callsign_groups:
        return number
    return as_said(words, start, end, run.figures, lambda: say_grouped(run.figures))
