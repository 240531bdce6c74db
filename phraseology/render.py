"""From values to words: the inverse of `parse` for every element."""

from collections.abc import Iterable

from phraseology.elements import Callsign, Kind, runway_name
from phraseology.errors import PhraseologyError
from phraseology.numbers import say_digits, say_thousands
from phraseology.phrases import AIRCRAFT_TYPES, LETTERS, model_form
from phraseology.standards import Standard

_TYPE_WORDS = {value: words for words, value in reversed(AIRCRAFT_TYPES.items())}


_BEFORE_PLACE = {
    "break": "",  # its own words begin with "in the"
    "final_turn": "in the ",
    "perch": "at the ",
    "departure_end": "at the ",
    "midfield": "at ",
}
"""How the place of another aircraft is joined to it, where "on" is not what the trade says."""


def say(kind: Kind, value: str, standard: Standard, *, controller: bool = False) -> str:
    """The model words of one element, as a pilot or as the controller says it.

    Raises PhraseologyError for a value that the kind does not have.
    """
    try:
        if controller and (kind, value) in standard.controller_forms:
            return standard.controller_forms[kind, value]
        match kind:
            case Kind.CALLSIGN:
                return Callsign.of(value).spoken
            case Kind.STATION | Kind.POINT:
                return value.lower()
            case Kind.WHERE:
                miles, direction = value.split()
                return f"{say_digits(miles)} miles {_direction(direction)}"
            case Kind.DISTANCE:
                return f"{say_digits(value)} mile"
            case Kind.ALTITUDE:
                return say_thousands(int(value))
            case Kind.ATIS:
                return (
                    "have numbers" if value == "numbers" else f"information {LETTERS[LETTERS.index(value)]}"
                )
            case Kind.RUNWAY:
                number, _, side = runway_name(value).partition(" ")
                return f"runway {say_digits(number)} {side}".strip()
            case Kind.WIND:
                return _say_wind(value)
            case Kind.ALTIMETER:
                return f"altimeter {say_digits(value)}"
            case Kind.SEQUENCE:
                return f"number {say_digits(value)}"
            case Kind.REPORT:
                return f"report {_say_reported(value)}"
            case Kind.FOLLOW:
                return _say_follow(value)
            case _:
                return model_form(kind, value)
    except (KeyError, ValueError, IndexError):
        raise PhraseologyError(f'no words for {kind.value} "{value}"') from None


def _direction(value: str) -> str:
    for first in ("north", "south"):
        if value.startswith(first) and value != first:
            return f"{first} {value.removeprefix(first)}"
    return value


def _say_wind(value: str) -> str:
    if value == "calm":
        return "wind calm"
    direction, speed = value.split("/")
    return f"wind {say_digits(direction)} at {say_digits(str(int(speed)))}"


def _say_reported(value: str) -> str:
    name, _, miles = value.partition(" ")
    if miles:
        return f"{say_digits(miles)} mile {name}"
    if name == "break":
        return "break"
    return name.lower() if name.isupper() else model_form(Kind.POSITION, name)


def _say_follow(value: str) -> str:
    whom, _, place = value.rpartition(" ")
    try:
        words = model_form(Kind.POSITION, place)
        where = f"{_BEFORE_PLACE.get(place, 'on ')}{words}" if whom else ""
    except KeyError:
        whom, where = value, ""
    whom = whom or value
    return f"follow {_TYPE_WORDS.get(whom) or Callsign.of(whom).spoken} {where}".strip()


def sentence(parts: Iterable[tuple[Kind | None, str]]) -> str:
    """Join spoken parts with commas, as they are breathed; a distance runs into what it measures.

    Each part is its kind and its words; kind None is plain words.
    """
    text = ""
    joint = ""
    for kind, words in parts:
        text += joint + words
        joint = " " if kind is Kind.DISTANCE else ", "
    return text
