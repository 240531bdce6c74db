"""How many: minutes of fuel, persons, seconds, and the readability scale.

Digit by digit is the rule (AIM 4-2-8d); plain English counts as standard
here, as common practice has it.
"""

from phraseology.figures.codes import say_grouped
from phraseology.figures.style import NumberStyle, Words, as_said, checked
from phraseology.numbers import CARELESS_DIGITS, Number, read_digits, read_run, say_digits, word_at

_MINUTES = frozenset({"minute", "minutes"})
_HOURS = frozenset({"hour", "hours"})


def say_fuel(value: str, style: NumberStyle) -> str:
    """Minutes "30": "three zero minutes" (AIM 4-2-8: other numbers digit by digit)."""
    checked("[1-9][0-9]{0,2}", value, 'endurance: write minutes, for instance "30"')
    return f"{say_digits(value)} minutes"


def read_fuel(words: Words, start: int, style: NumberStyle) -> Number | None:
    """Minutes "30". "thirty minutes", "one hour thirty" and the military "one plus three zero" are
    standard too (common practice)."""
    run = read_run(words, start, 3, _MINUTES | _HOURS)
    if run is None:
        return None
    unit = word_at(words, start + run.length)
    end = start + run.length + 1
    minutes = int(run.figures)
    if unit in _MINUTES:
        return _careful(words, start, end, str(minutes))
    if unit not in _HOURS and unit != "plus":
        return None
    place = end + (word_at(words, end) == "and")
    more = read_run(words, place, 2, _MINUTES)
    if more and int(more.figures) < 60:
        end = place + more.length
        end += word_at(words, end) in _MINUTES
        return _careful(words, start, end, str(minutes * 60 + int(more.figures)))
    return None if unit == "plus" else _careful(words, start, end, str(minutes * 60))


def say_count(value: str, style: NumberStyle) -> str:
    """How many ("2": "two"; "12": "one two"), digit by digit (AIM 4-2-8d)."""
    checked("0|[1-9][0-9]{0,2}", value, 'count: write a number below 1000, for instance "2"')
    return say_digits(value)


def say_quantity(value: str) -> str:
    """How many in plain English: "12" is "twelve", "150" "one hundred fifty"; `read_count` reads it."""
    checked("0|[1-9][0-9]{0,2}", value, 'quantity: write a number below 1000, for instance "12"')
    hundreds, rest = divmod(int(value), 100)
    parts = [f"{say_digits(str(hundreds))} hundred"] if hundreds else []
    if rest or not hundreds:
        parts.append(say_grouped(str(rest)))
    return " ".join(parts)


def read_count(words: Words, start: int, style: NumberStyle) -> Number | None:
    """How many, "2"; plain English and digits are both standard (common practice)."""
    run = read_run(words, start, 3)
    return run and _careful(words, start, start + run.length, str(int(run.figures)))


def say_readability(value: str, style: NumberStyle) -> str:
    """The readability scale, "1" to "5" (Annex 10 5.2.1.8)."""
    checked("[1-5]", value, "readability: write 1 to 5")
    return say_digits(value)


def read_readability(words: Words, start: int, style: NumberStyle) -> Number | None:
    """ "1" to "5"; "five by five" is understood."""
    run = read_run(words, start, 1)
    if run is None or run.figures not in "12345":
        return None
    end = start + run.length
    if word_at(words, end) == "by" and read_digits(words, end + 1, 1):
        end += 2
    return as_said(words, start, end, run.figures, lambda: say_readability(run.figures, style))


def _careful(words: Words, start: int, end: int, value: str) -> Number:
    """Plain English counts as standard here; only a careless digit does not."""
    return Number(value, end - start, not CARELESS_DIGITS & set(words[start:end]))
