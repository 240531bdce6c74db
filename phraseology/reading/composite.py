"""Elements made of several: what to report, whom to follow, traffic, conditions, points to hold at."""

from phraseology.elements import Element, Kind
from phraseology.phrases import AIRCRAFT_TYPES
from phraseology.reading import quantities
from phraseology.reading.cursor import Words
from phraseology.reading.fixed import phrase
from phraseology.reading.names import callsign, point

_TO_A_PLACE = ("on", "in", "at", "the", "a")


def report(words: Words, at: int) -> Element | None:
    """ "report quarry", "report three mile initial", "report the break": what is to be reported."""
    if words.at(at) != "report":
        return None
    place = words.behind(at + 1, ("the", "over", "at", "passing", "on", "established", "turning"))
    if words.at(place) == "break" and words.at(place + 1) != "out":
        return Element(Kind.REPORT, "break", at, place + 1)
    if measured := quantities.distance(words, place):
        leg = phrase(words, measured.end)
        if leg and leg.kind is Kind.POSITION:
            return Element(Kind.REPORT, f"{leg.value} {measured.value}", at, leg.end, leg.standard)
    if named := point(words, place):
        return Element(Kind.REPORT, named.value, at, named.end)
    leg = phrase(words, place)
    if leg and leg.kind is Kind.POSITION:
        return Element(Kind.REPORT, leg.value, at, leg.end, leg.standard)
    if leg and leg.kind is Kind.GEAR:
        return Element(Kind.QUERY, "confirm_gear", at, leg.end)
    return None


def follow(words: Words, at: int) -> Element | None:
    """ "follow the jet trainer on inside downwind": whom, and where that one is."""
    if words.at(at) not in ("follow", "following"):
        return None
    whom, end = _whom(words, words.behind(at + 1, ("the",)))
    place, end = _place(words, end)
    return Element(Kind.FOLLOW, f"{whom or 'traffic'} {place}".strip(), at, max(end, at + 1))


def traffic_information(words: Words, at: int) -> Element | None:
    """ "traffic, jet trainer, three mile initial": what is where."""
    if words.at(at) != "traffic":
        return None
    whom, end = _whom(words, words.behind(at + 1, ("is", "a", "the")))
    if whom is None or whom == "traffic":
        return None
    place, end = _place(words, end)
    return Element(Kind.TRAFFIC_INFORMATION, f"{whom} {place}", at, end) if place else None


def sighting(words: Words, at: int) -> Element | None:
    """ "jet trainer in sight", "looking for the fast jet": by its type, as one thing."""
    kind = next((name for name in AIRCRAFT_TYPES if words.starts(at, name)), None)
    if kind is not None and kind != "traffic":
        seen = phrase(words, words.behind(at + len(kind.split()), ("is",)))
        if seen and seen.kind is Kind.TRAFFIC:
            return Element(Kind.TRAFFIC, seen.value, at, seen.end, seen.standard)
    seen = phrase(words, at)
    if seen and seen.kind is Kind.TRAFFIC:
        whom, end = _whom(words, words.behind(seen.end, ("for", "on", "the", "with")))
        if whom and " " not in whom:
            return Element(Kind.TRAFFIC, seen.value, at, end, seen.standard)
    return None


def condition(words: Words, at: int) -> Element | None:
    """When an approval holds: "after the traffic on initial", "closed approved at departure end"."""
    if words.at(at) in ("after", "behind"):
        whom, end = _whom(words, words.behind(at + 1, ("the",)))
        if whom is None:
            return None
        place, end = _place(words, end)
        return Element(Kind.CONDITION, f"after {whom} {place}".strip(), at, end)
    if words.at(at) == "at" and words.at(at - 1) in ("approved", "closed", "traffic"):
        where = phrase(words, words.behind(at + 1, ("the",)))
        if where and where.kind is Kind.POSITION:
            return Element(Kind.CONDITION, f"at {where.value}", at, where.end)
    return None


def hold(words: Words, at: int) -> Element | None:
    """ "hold at quarry"."""
    if words.at(at) not in ("hold", "holding"):
        return None
    named = point(words, words.behind(at + 1, ("at", "over")))
    return named and Element(Kind.HOLD, named.value, at, named.end)


def unavailable(words: Words, at: int) -> Element | None:
    """ "quarry not available"."""
    named = point(words, at)
    if named is None:
        return None
    for words_behind in ("not available", "is not available", "unavailable", "is unavailable", "closed"):
        if words.starts(named.end, words_behind):
            return Element(Kind.UNAVAILABLE, named.value, at, named.end + len(words_behind.split()))
    return None


def _whom(words: Words, at: int) -> tuple[str | None, int]:
    """An aircraft by its callsign or its type, and where the words for it end."""
    named = callsign(words, at)
    if named and " " in named.value:
        return named.value, named.end
    for name, kind in AIRCRAFT_TYPES.items():
        if words.starts(at, name):
            return kind, at + len(name.split())
    return None, at


def _place(words: Words, at: int) -> tuple[str, int]:
    """Where an aircraft is: "initial 3", "final"; "" if the words do not say."""
    place = at
    while True:
        measured = quantities.distance(words, place)
        leg = phrase(words, measured.end if measured else place)
        if leg and leg.kind is Kind.POSITION:
            return f"{leg.value} {measured.value}" if measured else leg.value, leg.end
        if words.at(place) not in _TO_A_PLACE:
            return "", at
        place += 1
