"""Who and whom: callsigns, stations, fields, points."""

from phraseology.elements import Element, Kind
from phraseology.numbers import DIGIT_VALUES, NUMBER_WORDS, TENS_VALUES, read_digits
from phraseology.phrases import CONNECTIVES, DIRECTIONS, FORMS_BY_WORD, LETTERS, NEGATIONS
from phraseology.reading import quantities
from phraseology.reading.cursor import Words
from phraseology.reading.fixed import phrase

_DIRECTION_WORDS = frozenset(word for direction in DIRECTIONS for word in direction.split())
_SIDES = frozenset({"left", "right", "center", "centre"})
NO_NAMES = (
    FORMS_BY_WORD.keys()
    | NUMBER_WORDS
    | CONNECTIVES
    | NEGATIONS
    | frozenset(LETTERS)
    | _SIDES
    | quantities.UNITS
    | _DIRECTION_WORDS
    | {"tower", "wind", "gusts", "gusting", "altimeter", "qnh", "follow", "following", "heading", "squawk"}
    | {"information", "readability", "flight", "fuel", "souls", "soul", "persons", "correction"}
)
"""Words that are nobody's name."""


def _is_name(words: Words, at: int) -> bool:
    """A word that no phrase, number or connective claims: perhaps somebody's name."""
    word = words.at(at)
    return bool(word) and word not in NO_NAMES and word.upper() not in words.world.points


def _begins_with_a_name(words: Words, at: int) -> bool:
    """The first word, before "tower", that says nothing by itself: perhaps a name, misheard."""
    word = words.at(at)
    says = words.starts(at, "contact tower") or phrase(words, at) is not None
    return at == 0 and not says and word not in CONNECTIVES | NEGATIONS | NUMBER_WORDS


def station(words: Words, at: int) -> Element | None:
    name = words.world.station.lower()
    if words.starts(at, name):
        return Element(Kind.STATION, name, at, at + len(name.split()))
    for kind in ("tower", "traffic"):
        field = words.world.field_name
        if words.starts(at, f"{field} {kind}"):
            return Element(Kind.STATION, f"{field} {kind}", at, at + len(field.split()) + 1)
    if words.at(at + 1) == "tower" and (_is_name(words, at) or _begins_with_a_name(words, at)):
        return Element(Kind.STATION, f"{words.at(at)} tower", at, at + 2)
    named = words.at(at).upper() in words.world.callsign_words
    if words.at(at + 1) == "traffic" and _is_name(words, at) and at == 0 and not named:
        return Element(Kind.STATION, f"{words.at(at)} traffic", at, at + 2)
    if words.at(at) == "tower":
        return Element(Kind.STATION, "tower", at, at + 1)
    return None


def field(words: Words, at: int) -> Element | None:
    """The field's name alone, as a self-announced call ends."""
    name = words.world.field_name
    if at and words.starts(at, name):
        return Element(Kind.FIELD, name, at, at + len(name.split()))
    return None


def point(words: Words, at: int) -> Element | None:
    if words.at(at).upper() in words.world.points:
        return Element(Kind.POINT, words.at(at).upper(), at, at + 1)
    return None


def callsign(words: Words, at: int) -> Element | None:
    word = words.at(at)
    known = word.upper() in words.world.callsign_words
    if not known and not _is_name(words, at):
        return _callsign_without_its_word(words, at)
    end = _end_of_figures(words, at + 1)
    if end > at + 1:
        number = read_digits(words.said[:end], at + 1, 8)
        assert number is not None
        return Element(Kind.CALLSIGN, f"{word.upper()} {number.figures}", at, end, number.standard)
    return Element(Kind.CALLSIGN, word.upper(), at, at + 1) if known else None


def _callsign_without_its_word(words: Words, at: int) -> Element | None:
    """ "two one three mile initial": figures in the callsign's place, the next number right behind."""
    if words.at(at) not in NUMBER_WORDS or (at and words.at(at - 1) != "tower"):
        return None
    end = _end_of_figures(words, at)
    number = read_digits(words.said[:end], at, 8)
    usual = number is not None and len(number.figures) == words.world.usual_figures
    if number is None or not usual or words.at(end) not in NUMBER_WORDS:
        return None
    return Element(Kind.CALLSIGN, number.figures, at, end, standard=False)


def flight(words: Words, at: int) -> Element | None:
    """ "flight", or "flight of two", behind a callsign: the leader talks for the flight."""
    if words.at(at) != "flight" or words.at(at + 1) == "level" or phrase(words, at):
        return None
    number = read_digits(words.said, at + 2, 1) if words.at(at + 1) == "of" else None
    if number:
        return Element(Kind.FLIGHT, number.figures, at, at + 2 + number.length, number.standard)
    return Element(Kind.FLIGHT, "flight", at, at + 1)


def _end_of_figures(words: Words, start: int) -> int:
    """Where the callsign's figures from `start` end: figures that begin another element are left to it.

    "sable two one three mile initial" is SABLE 21 at three miles: of the possible ends the one with
    the usual number of figures is taken, else the last. Without another element every figure counts.
    """
    run = start
    while words.at(run) in NUMBER_WORDS:
        run += 1
    ends = [end for end in range(start, run) if _another_element(words, start, end, run)]
    for end in ends:
        if words.at(end - 1) in TENS_VALUES and words.at(end) in DIGIT_VALUES:
            continue  # "twenty one" is one number
        number = read_digits(words.said[:end], start, 8)
        if number and len(number.figures) == words.world.usual_figures:
            return end
    return ends[-1] if ends else run


def _another_element(words: Words, start: int, at: int, run: int) -> bool:
    """True if the figures from `at` to the end of the run say something other than a callsign."""
    if _begins_longer(words, at, run):
        return True
    rest = read_digits(words.said[:run], at, 8)
    if rest is None or any(_begins_longer(words, place, run) for place in range(at + 1, run)):
        return False
    is_pressure = len(rest.figures) == 4 and rest.figures[:2] in quantities.PRESSURES
    is_runway = len(rest.figures) == 2 and 1 <= int(rest.figures) <= 36 and rest.length == 2
    is_where = quantities.where_in_short(words, at) is not None
    before = read_digits(words.said[:at], start, 8)
    usual = before is not None and len(before.figures) == words.world.usual_figures
    if usual and run == at + 2 and words.at(at + 1) == "sixty" and words.at(at) in ("three", "tree"):
        return True  # "sable two one three sixty left"
    return usual and (is_pressure or is_runway or is_where) and run - at == rest.length


_GO_ON = (
    quantities.where,
    quantities.distance,
    quantities.altitude,
    quantities.speed,
    quantities.frequency,
    quantities.fuel,
    quantities.souls,
    phrase,
)


def _begins_longer(words: Words, at: int, run: int) -> bool:
    """True if an element starts at `at` that goes on beyond the figures: "three mile initial"."""
    furthest = words.furthest.get(at)
    if furthest is None:
        found = [element.end for reads in _GO_ON if (element := reads(words, at)) is not None]
        furthest = words.furthest[at] = max(found, default=at)
    return furthest > run
