"""From values to words: the inverse of `parse` for every element."""

from collections.abc import Callable, Iterable

from phraseology.elements import Callsign, Kind, runway_name
from phraseology.errors import PhraseologyError
from phraseology.figures import (
    say_altimeter,
    say_altitude,
    say_count,
    say_distance,
    say_frequency,
    say_fuel,
    say_heading,
    say_qnh,
    say_readability,
    say_runway,
    say_speed,
    say_time,
    say_wind,
)
from phraseology.numbers import say_digits
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

Speaker = Callable[[str, Standard], str]


def say(kind: Kind, value: str, standard: Standard, *, controller: bool = False) -> str:
    """The model words of one element, as a pilot or as the controller says it.

    Raises PhraseologyError for a value that the kind does not have.
    """
    if controller and (kind, value) in standard.controller_words:
        return standard.controller_words[kind, value]
    try:
        speaker = _SPEAKERS.get(kind)
        if speaker is not None:
            return speaker(value, standard)
        return fixed_words(kind, value, standard)
    except (KeyError, ValueError, IndexError):
        raise PhraseologyError(f'no words for {kind.value} "{value}"') from None


def fixed_words(kind: Kind, value: str, standard: Standard) -> str:
    """The model form of a phrase: the standard's own, else the table's. KeyError if there is none."""
    own = standard.words.get((kind, value))
    return own[0] if own else model_form(kind, value)


def _where(value: str, standard: Standard) -> str:
    miles, direction = value.split()
    return f"{say_distance(miles, standard.numbers, 'miles')} {_direction(direction)}"


def _direction(value: str) -> str:
    for first in ("north", "south"):
        if value.startswith(first) and value != first:
            return f"{first} {value.removeprefix(first)}"
    return value


def _place(value: str, standard: Standard) -> str:
    """ "initial 3" is "three mile initial"."""
    name, _, miles = value.partition(" ")
    words = fixed_words(Kind.POSITION, name, standard)
    return f"{say_distance(miles, standard.numbers)} {words}" if miles else words


def _reported(value: str, standard: Standard) -> str:
    if value == "break":
        return "report break"
    return f"report {value.lower() if value.isupper() else _place(value, standard)}"


def _aircraft(value: str, standard: Standard) -> str:
    """ "jet_trainer inside_downwind", "HERON 42 initial 3", or either without its place."""
    words = value.split()
    named = words[0].isupper()
    whom = Callsign.of(" ".join(words[:2])).spoken if named else _TYPE_WORDS[words[0]]
    place = words[2:] if named else words[1:]
    if not place:
        return whom
    join = "" if len(place) > 1 else _BEFORE_PLACE.get(place[0], "on ")
    return f"{whom} {join}{_place(' '.join(place), standard)}"


def _condition(value: str, standard: Standard) -> str:
    word, _, rest = value.partition(" ")
    if word == "at":
        return f"at {fixed_words(Kind.POSITION, rest, standard)}"
    if word != "after":
        raise KeyError(value)
    article = "" if rest.split()[0].isupper() else "the "
    return f"after {article}{_aircraft(rest, standard)}"


def _traffic_information(value: str, standard: Standard) -> str:
    if len(value.split()) < 2:
        raise KeyError(value)
    return f"traffic {_aircraft(value, standard)}"


def _break(value: str, standard: Standard) -> str:
    if value.startswith("in "):
        return f"break in {say_count(value.removeprefix('in '), standard.numbers)} seconds"
    return fixed_words(Kind.BREAK, value, standard)


def _fuel(value: str, standard: Standard) -> str:
    if value == "minimum":
        return fixed_words(Kind.FUEL, value, standard)
    return f"{say_fuel(value, standard.numbers)} fuel"


def _souls(value: str, standard: Standard) -> str:
    return f"{say_count(value, standard.numbers)} {'soul' if value == '1' else 'souls'} on board"


def _readability(value: str, standard: Standard) -> str:
    in_words = (Kind.READABILITY, value) not in standard.words and value in ("1", "3", "5")
    if in_words:
        return model_form(Kind.READABILITY, value)
    return f"readability {say_readability(value, standard.numbers)}"


def _part(value: str, standard: Standard) -> str:
    lead, _, quoted = value.partition(" ")
    return f"{lead.replace('_', ' ')} {quoted}".strip()


def _flight(value: str, standard: Standard) -> str:
    return "flight" if value == "flight" else f"flight of {say_count(value, standard.numbers)}"


def _atis(value: str, standard: Standard) -> str:
    return "have numbers" if value == "numbers" else f"information {LETTERS[LETTERS.index(value)]}"


_SPEAKERS: dict[Kind, Speaker] = {
    Kind.CALLSIGN: lambda value, _: "all aircraft" if value == "ALL" else Callsign.of(value).spoken,
    Kind.STATION: lambda value, _: value.lower(),
    Kind.FIELD: lambda value, _: value.lower(),
    Kind.POINT: lambda value, _: value.lower(),
    Kind.SIDE: lambda value, _: {"left": "left", "right": "right"}[value],
    Kind.FLIGHT: _flight,
    Kind.WHERE: _where,
    Kind.DISTANCE: lambda value, standard: say_distance(value, standard.numbers),
    Kind.ALTITUDE: lambda value, standard: say_altitude(value, standard.numbers),
    Kind.ATIS: _atis,
    Kind.RUNWAY: lambda value, standard: f"runway {say_runway(runway_name(value), standard.numbers)}",
    Kind.WIND: lambda value, standard: f"wind {say_wind(value, standard.numbers)}",
    Kind.ALTIMETER: lambda value, standard: f"altimeter {say_altimeter(value, standard.numbers)}",
    Kind.QNH: lambda value, standard: f"qnh {say_qnh(value, standard.numbers)}",
    Kind.HEADING: lambda value, standard: f"heading {say_heading(value, standard.numbers)}",
    Kind.SPEED: lambda value, standard: f"speed {say_speed(value, standard.numbers)}",
    Kind.FREQUENCY: lambda value, standard: say_frequency(value, standard.numbers),
    Kind.TIME: lambda value, standard: f"time {say_time(value, standard.numbers)}",
    Kind.SEQUENCE: lambda value, _: f"number {say_digits(value)}",
    Kind.BREAK: _break,
    Kind.CONDITION: _condition,
    Kind.HOLD: lambda value, _: f"hold at {value.lower()}",
    Kind.UNAVAILABLE: lambda value, _: f"{value.lower()} not available",
    Kind.REPORT: _reported,
    Kind.FOLLOW: lambda value, standard: f"follow {_aircraft(value, standard)}",
    Kind.TRAFFIC_INFORMATION: _traffic_information,
    Kind.FUEL: _fuel,
    Kind.SOULS: _souls,
    Kind.READABILITY: _readability,
    Kind.PART: _part,
}
"""How a kind is said whose values are not all in the phrase table."""


def sentence(parts: Iterable[tuple[Kind | None, str]]) -> str:
    """Join spoken parts with commas, as they are breathed.

    A distance runs into what it measures, a side into what it turns. Each part is its kind and its
    words; kind None is plain words.
    """
    text = ""
    joint = ""
    for kind, words in parts:
        text += joint + words
        joint = " " if kind in (Kind.DISTANCE, Kind.SIDE) else ", "
    return text
