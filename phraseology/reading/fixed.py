"""The fixed phrases of the table, with a side put in where the trade puts one."""

from phraseology.elements import Element, Kind
from phraseology.numbers import NUMBER_WORDS
from phraseology.phrases import FORMS_BY_WORD, LETTERS, SIDED, SIDES, TURNS
from phraseology.reading.cursor import Words

_TURNING = frozenset({"turn", "turning", "make", "making", "breaking", "orbit", "to"})
"""Behind these a side stands for itself: "breaking left", "make left three sixty"."""
_TURNED = frozenset({"hand", "heading"})


def phrase(words: Words, at: int) -> Element | None:
    """The longest phrase there; "left closed approved" is one with its side."""
    first = words.at(at)
    if first in SIDES and words.at(at + 1) in TURNS:
        own = _longest(words, at, at)
        sided = _longest(words, at + 1, at + 1, sided=True)
        if sided and (own is None or sided.end > own.end):
            return Element(sided.kind, sided.value, at, sided.end, sided.standard)
        return own
    return _longest(words, at, at)


def _longest(words: Words, start: int, at: int, *, sided: bool = False) -> Element | None:
    for form, entry, standard in FORMS_BY_WORD.get(words.at(at), ()):
        if sided and entry.kind not in SIDED:
            continue
        end = _match(words, at, form, may_have_side=entry.kind in SIDED)
        if end is None or _is_negative_before_more(words, at, end):
            continue
        wanted = words.world.standard.words.get((entry.kind, entry.value))
        if wanted is not None:
            standard = " ".join(form) in wanted
        return Element(entry.kind, entry.value, start, end, standard)
    return None


def _match(words: Words, at: int, form: tuple[str, ...], *, may_have_side: bool) -> int | None:
    """Where the form ends if it stands there, a side being allowed in front of the word that turns."""
    place = at
    for number, word in enumerate(form):
        said = words.at(place)
        if said != word and number and may_have_side and said in SIDES and word in TURNS:
            place += 1
            said = words.at(place)
        if said != word:
            return None
        place += 1
    return place


def _is_negative_before_more(words: Words, at: int, end: int) -> bool:
    """ "negative, closed approved" corrects; "negative closed" denies, as does "unable, closed denied"."""
    if words.at(at) == "unable" and end > at + 1:
        after = phrase(words, at + 1)
        return after is not None and after.end > end and after.value == "denied"
    if words.at(at) != "negative" or end == at + 1:
        return False
    if words.starts(at + 1, "contact tower"):
        return True
    after = phrase(words, at + 1)
    return after is not None and after.end > end


def side(words: Words, at: int) -> Element | None:
    """A side that stands for itself: "breaking left", "turn right heading ..."."""
    if words.at(at) in SIDES and (words.at(at - 1) in _TURNING or words.at(at + 1) in _TURNED):
        return Element(Kind.SIDE, words.at(at), at, at + 1)
    return None


def side_within(words: Words, element: Element) -> Element | None:
    """The side that a phrase names: "left" of "left closed approved"."""
    if element.kind not in SIDED:
        return None
    for place in range(element.start, element.end):
        if words.at(place) in SIDES:
            return Element(Kind.SIDE, words.at(place), place, place + 1)
    return None


def atis(words: Words, at: int) -> Element | None:
    """ "information alfa", "with alfa", "have numbers"; the letter alone is understood."""
    word, following = words.at(at), words.at(at + 1)
    if word in ("have", "with") and following == "numbers":
        return Element(Kind.ATIS, "numbers", at, at + 2)
    if word in ("information", "with") and following in LETTERS:
        return Element(Kind.ATIS, following, at, at + 2)
    if word == "with" and following == "information" and words.at(at + 2) in LETTERS:
        return Element(Kind.ATIS, words.at(at + 2), at, at + 3)
    if word in LETTERS:
        return Element(Kind.ATIS, word, at, at + 1, standard=False)
    return None


ITEMS = frozenset(
    {
        "altimeter",
        "altitude",
        "clearance",
        "frequency",
        "heading",
        "information",
        "point",
        "position",
        "qnh",
        "runway",
        "sequence",
        "speed",
        "wind",
    }
)


def part(words: Words, at: int) -> Element | None:
    """What is to be said again: "all after runway", "all before wind", "altimeter"."""
    if not words.starts(at - 2, "say again") or words.at(at - 3) == "i":
        return None
    for lead in ("all after", "all before", "word after", "word before"):
        if words.starts(at, lead) and words.at(at + 2):
            said = phrase(words, at + 2)
            end = said.end if said else at + 3
            quoted = " ".join(words.said[at + 2 : end])
            return Element(Kind.PART, f"{lead.replace(' ', '_')} {quoted}", at, end)
    item = words.behind(at, ("the", "your"))
    if words.at(item) in ITEMS and words.at(item + 1) not in NUMBER_WORDS:
        return Element(Kind.PART, words.at(item), at, item + 1)
    return None
