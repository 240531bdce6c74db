"""From words to elements: one reader for pilots and controllers alike.

Left to right, longest phrase first. It never repairs: a digit is the digit that was heard, and a
word that means nothing here stays a leftover word.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from phraseology.elements import Element, Kind
from phraseology.heard import Heard
from phraseology.numbers import DIGIT_VALUES, TEEN_VALUES, TENS_VALUES, read_digits, read_thousands
from phraseology.phrases import (
    AIRCRAFT_TYPES,
    CONNECTIVES,
    CORRECTION,
    DIRECTIONS,
    DISREGARD,
    FORMS_BY_WORD,
    LETTERS,
    NEGATIONS,
)
from phraseology.words import tokens

_NUMBER_WORDS = DIGIT_VALUES.keys() | TEEN_VALUES.keys() | TENS_VALUES.keys()
_PRESSURES = ("28", "29", "30", "31")
"""First figures of an altimeter setting in inches: a bare run of four figures is one."""
_SIDES = frozenset({"left", "right", "center"})
_ACTING = frozenset({Kind.ACTION, Kind.CLEARANCE, Kind.INTENTION, Kind.GEAR, Kind.CLOSED, Kind.BREAK})


@dataclass(frozen=True)
class World:
    """The names that are known on this frequency. `callsign_words` and `points` are upper case."""

    callsign_words: frozenset[str] = frozenset({"SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE"})
    points: frozenset[str] = frozenset()
    station: str = "corbel tower"
    usual_figures: int = 2
    """How many figures callsigns here have; settles where a callsign ends and the next number begins."""


@dataclass(frozen=True)
class Parsed:
    """Elements in the order said, the words they index, and the indices of words that mean nothing here."""

    words: tuple[str, ...]
    elements: tuple[Element, ...]
    leftover: tuple[int, ...]

    def all(self, kind: Kind) -> tuple[Element, ...]:
        return tuple(element for element in self.elements if element.kind is kind)

    def first(self, kind: Kind) -> Element | None:
        return next((element for element in self.elements if element.kind is kind), None)

    def value(self, kind: Kind) -> str | None:
        element = self.first(kind)
        return None if element is None or element.negated else element.value

    def has(self, kind: Kind, *values: str) -> bool:
        return any(
            element.value in values or not values for element in self.all(kind) if not element.negated
        )


def parse(heard: Heard | str, world: World) -> Parsed:
    """Read a transmission. A string is taken as a typed line."""
    if isinstance(heard, str):
        heard = Heard.typed(heard)
    words: list[str] = []
    confidences: list[float] = []
    for word in heard.words:
        for token in tokens(word.text):
            words.append(token)
            confidences.append(word.confidence)
    words, confidences = _apply_corrections(words, confidences, world)
    return _Reader(tuple(words), confidences, world).read()


def parse_words(words: Sequence[str], world: World) -> Parsed:
    """Read words that are certain."""
    return parse(" ".join(words), world)


def _apply_corrections(
    words: list[str], confidences: list[float], world: World
) -> tuple[list[str], list[float]]:
    """Take out what the speaker took back himself, so that only the corrected words are read."""
    if DISREGARD in words:
        cut = len(words) - words[::-1].index(DISREGARD)
        words, confidences = words[cut:], confidences[cut:]
    while CORRECTION in words:
        at = words.index(CORRECTION)
        drop_from = _start_of_corrected(words[:at], words[at + 1 :], world)
        del words[drop_from : at + 1], confidences[drop_from : at + 1]
    return words, confidences


def _start_of_corrected(before: list[str], after: list[str], world: World) -> int:
    """Index of the first word that "correction" takes back: figures by figures, else an element by its like."""
    if after and after[0] in _NUMBER_WORDS:
        new = read_digits(after, 0, 5)
        start, figures = len(before), 0
        while start and before[start - 1] in _NUMBER_WORDS and new and figures < len(new.figures):
            start -= 1
            figures += 1
        if start < len(before):
            return start
    certain = [1.0] * max(len(before), len(after))
    old = _Reader(tuple(before), certain, world).read().elements
    following = _Reader(tuple(after), certain, world).read().elements
    if old and following:
        alike = [element for element in old if element.kind is following[0].kind]
        if alike:
            return alike[-1].start
    return len(before)


class _Reader:
    """One pass over the words. Each `_read_*` gives an element that starts at a place, or None."""

    def __init__(self, words: tuple[str, ...], confidences: Sequence[float], world: World) -> None:
        self.words = words
        self.confidences = confidences
        self.world = world
        self.readers: tuple[Callable[[int], Element | None], ...] = (
            self._read_report,
            self._read_follow,
            self._read_station,
            self._read_runway,
            self._read_wind,
            self._read_altimeter,
            self._read_callsign,
            self._read_sequence,
            self._read_where,
            self._read_initial_distance,
            self._read_altitude,
            self._read_atis,
            self._read_phrase,
            self._read_point,
        )

    def read(self) -> Parsed:
        elements: list[Element] = []
        leftover: list[int] = []
        at = 0
        while at < len(self.words):
            element = next((found for reader in self.readers if (found := reader(at))), None)
            if element is None:
                leftover.append(at)
                at += 1
                continue
            element = self._finish(element)
            elements.append(element)
            at = element.end
        elements, leftover = self._rescue_figures(elements, leftover)
        meaningless = tuple(
            place
            for place in leftover
            if self.words[place] not in CONNECTIVES and self.words[place] not in NEGATIONS
        )
        return Parsed(self.words, tuple(elements), meaningless)

    def _finish(self, element: Element) -> Element:
        before = element.start - 1
        while self._word(before) in ("a", "the", "for", "be"):
            before -= 1
        negated = element.kind in _ACTING and self._word(before) in NEGATIONS
        confidence = min(self.confidences[element.start : element.end], default=1.0)
        return replace(element, negated=negated, confidence=confidence)

    def _word(self, at: int) -> str:
        return self.words[at] if 0 <= at < len(self.words) else ""

    def _starts(self, at: int, phrase: str) -> bool:
        words = tuple(phrase.split())
        return self.words[at : at + len(words)] == words

    # -- names -----------------------------------------------------------------------------------

    def _read_station(self, at: int) -> Element | None:
        name = self.world.station.lower()
        if self._starts(at, name):
            return Element(Kind.STATION, name, at, at + len(name.split()))
        following = self._word(at + 1)
        if following == "tower" and self._word(at) not in CONNECTIVES and self._is_name(at):
            return Element(Kind.STATION, f"{self._word(at)} tower", at, at + 2)
        if self._word(at) == "tower":
            return Element(Kind.STATION, "tower", at, at + 1)
        return None

    def _is_name(self, at: int) -> bool:
        """A word that no phrase, number or connective claims: perhaps somebody's name."""
        word = self._word(at)
        return bool(word) and not (
            word in FORMS_BY_WORD
            or word in _NUMBER_WORDS
            or word in CONNECTIVES
            or word in NEGATIONS
            or word in LETTERS
            or word in _SIDES
            or word.upper() in self.world.points
            or word in ("hundred", "thousand", "point", "decimal", "tower", "wind", "altimeter", "follow")
            or any(word in direction.split() for direction in DIRECTIONS)
        )

    def _read_callsign(self, at: int) -> Element | None:
        word = self._word(at)
        known = word.upper() in self.world.callsign_words
        end = self._end_of_figures(at + 1)
        if end > at + 1 and (known or self._is_name(at)):
            number = read_digits(self.words[:end], at + 1, 8)
            assert number is not None
            return Element(Kind.CALLSIGN, f"{word.upper()} {number.figures}", at, end, number.standard)
        if known:
            return Element(Kind.CALLSIGN, word.upper(), at, at + 1)
        return None

    def _end_of_figures(self, start: int) -> int:
        """Where the callsign's figures from `start` end: figures that begin another element are left to it.

        "sable two one three mile initial" is SABLE 21 at three miles: of the possible ends the one with
        the usual number of figures is taken, else the last. Without another element every figure counts.
        """
        run = start
        while self._word(run) in _NUMBER_WORDS:
            run += 1
        ends: list[int] = []
        for end in range(start, run):
            if self._another_element(end, run):
                ends.append(end)
        for end in ends:
            number = read_digits(self.words[:end], start, 8)
            if number and len(number.figures) == self.world.usual_figures:
                return end
        return ends[-1] if ends else run

    def _another_element(self, at: int, run: int) -> bool:
        """True if the figures from `at` to the end of the run say something other than a callsign."""
        longer = (self._read_where, self._read_initial_distance, self._read_altitude, self._read_phrase)
        if any((element := reader(at)) and element.end > run for reader in longer):
            return True
        rest = read_digits(self.words[:run], at, 8)
        if rest is None or at == run:
            return False
        is_pressure = len(rest.figures) == 4 and rest.figures[:2] in _PRESSURES
        is_runway = len(rest.figures) == 2 and 1 <= int(rest.figures) <= 36 and rest.length == 2
        before = read_digits(self.words[:at], at - self.world.usual_figures, 8)
        usual = before is not None and len(before.figures) == self.world.usual_figures
        return usual and (is_pressure or is_runway) and run - at == rest.length

    def _read_point(self, at: int) -> Element | None:
        if self._word(at).upper() in self.world.points:
            return Element(Kind.POINT, self._word(at).upper(), at, at + 1)
        return None

    def _read_atis(self, at: int) -> Element | None:
        word = self._word(at)
        if word in ("have", "with") and self._word(at + 1) == "numbers":
            return Element(Kind.ATIS, "numbers", at, at + 2)
        if word in ("information", "with") and self._word(at + 1) in LETTERS:
            return Element(Kind.ATIS, self._word(at + 1), at, at + 2)
        if word == "with" and self._word(at + 1) == "information" and self._word(at + 2) in LETTERS:
            return Element(Kind.ATIS, self._word(at + 2), at, at + 3)
        if word in LETTERS:
            return Element(Kind.ATIS, word, at, at + 1, standard=False)
        return None

    # -- numbers ---------------------------------------------------------------------------------

    def _read_runway(self, at: int) -> Element | None:
        if self._word(at) != "runway":
            return None
        number = read_digits(self.words, at + 1, 2)
        if number is None:
            return None
        end = at + 1 + number.length
        side = self._word(end) if self._word(end) in _SIDES and not self._is_direction(end) else ""
        value = f"{int(number.figures):d}" + (f" {side}" if side else "")
        return Element(Kind.RUNWAY, value, at, end + bool(side), number.standard)

    def _is_direction(self, at: int) -> bool:
        """ "left break", "right closed", "left base": the side of a turn, not of a runway."""
        return self._word(at + 1) in ("break", "closed", "base", "downwind", "turn", "traffic")

    def _read_wind(self, at: int) -> Element | None:
        if self._word(at) != "wind":
            return None
        if self._word(at + 1) == "calm":
            return Element(Kind.WIND, "calm", at, at + 2)
        direction = read_digits(self.words, at + 1, 3)
        if direction is None or len(direction.figures) != 3:
            return None
        place = at + 1 + direction.length
        if self._word(place) == "at":
            place += 1
        speed = read_digits(self.words, place, 2)
        if speed is None:
            return None
        place += speed.length
        place += self._word(place) == "knots"
        return Element(Kind.WIND, f"{direction.figures}/{int(speed.figures)}", at, place, direction.standard)

    def _read_altimeter(self, at: int) -> Element | None:
        named = self._word(at) == "altimeter"
        start = at + named
        if self._word(start) == "is":
            start += 1
        first = read_digits(self.words, start, 4)
        if first is None:
            return None
        figures, end = first.figures, start + first.length
        if len(figures) == 2 and self._word(end) in ("point", "decimal"):
            more = read_digits(self.words, end + 1, 2)
            if more is None:
                return None
            figures, end = figures + more.figures, end + 1 + more.length
        is_pressure = len(figures) == 4 and figures[:2] in _PRESSURES
        if not named and not is_pressure:
            return None
        if len(figures) < 2:
            return None
        return Element(Kind.ALTIMETER, figures, at, end, first.standard)

    def _read_altitude(self, at: int) -> Element | None:
        number = read_thousands(self.words, at)
        standard = True
        if number is None and self._word(at - 1) in ("above", "altitude", "maintain", "passing", "climbing", "at"):
            number = read_digits(self.words, at, 5)
            if number is None or len(number.figures) < 3:
                return None
            standard = False
        if number is None or int(number.figures) == 0:
            return None
        end = at + number.length
        end += self._word(end) == "feet"
        return Element(Kind.ALTITUDE, str(int(number.figures)), at, end, number.standard and standard)

    def _read_sequence(self, at: int) -> Element | None:
        if self._word(at) == "number" and (number := read_digits(self.words, at + 1, 1)):
            return Element(Kind.SEQUENCE, number.figures, at, at + 1 + number.length, number.standard)
        return None

    def _read_where(self, at: int) -> Element | None:
        number = read_digits(self.words, at, 2)
        if number is None:
            return None
        place = at + number.length
        if self._word(place) not in ("mile", "miles"):
            return None
        place += 1
        while self._word(place) in ("to", "the"):
            place += 1
        for direction in DIRECTIONS:
            if self._starts(place, direction):
                value = f"{int(number.figures)} {direction.replace(' ', '')}"
                # ten, eleven and twelve miles are plain English in every standard
                return Element(Kind.WHERE, value, at, place + len(direction.split()))
        return None

    def _read_initial_distance(self, at: int) -> Element | None:
        number = read_digits(self.words, at, 2)
        if number is None or self._word(at + number.length) not in ("mile", "miles"):
            return None
        after = self._word(at + number.length + 1)
        if after == "initial" or "initial" in self.words[max(0, at - 2) : at]:
            return Element(Kind.DISTANCE, str(int(number.figures)), at, at + number.length + 1, number.standard)
        return None

    # -- phrases ---------------------------------------------------------------------------------

    def _read_phrase(self, at: int) -> Element | None:
        for words, phrase, standard in FORMS_BY_WORD.get(self._word(at), ()):
            if self.words[at : at + len(words)] == words:
                return Element(phrase.kind, phrase.value, at, at + len(words), standard)
        return None

    def _read_report(self, at: int) -> Element | None:
        """ "report quarry", "report three mile initial", "report the break": what is to be reported."""
        if self._word(at) not in ("report", "reporting"):
            return None
        place = at + 1
        place += self._word(place) == "the"
        place += self._word(place) == "over"
        if self._word(place) == "break" and self._word(place + 1) != "out":
            return Element(Kind.REPORT, "break", at, place + 1)
        if distance := self._read_initial_distance(place):
            return Element(Kind.REPORT, f"initial {distance.value}", at, distance.end + 1)
        if point := self._read_point(place):
            return Element(Kind.REPORT, point.value, at, point.end)
        phrase = self._read_phrase(place)
        if phrase and phrase.kind is Kind.POSITION:
            return Element(Kind.REPORT, phrase.value, at, phrase.end)
        if phrase and phrase.kind is Kind.GEAR:
            return Element(Kind.QUERY, "confirm_gear", at, phrase.end)
        return None

    def _read_follow(self, at: int) -> Element | None:
        """ "follow the jet trainer on inside downwind": whom, and where that one is."""
        if self._word(at) not in ("follow", "following"):
            return None
        place = at + 1
        place += self._word(place) == "the"
        whom, end = "traffic", place
        callsign = self._read_callsign(place)
        kind = next((name for name in AIRCRAFT_TYPES if self._starts(place, name)), None)
        if callsign and " " in callsign.value:
            whom, end = callsign.value, callsign.end
        elif kind:
            whom, end = AIRCRAFT_TYPES[kind], place + len(kind.split())
        place = end
        while self._word(place) in ("on", "in", "at", "the"):
            place += 1
        phrase = self._read_phrase(place)
        if phrase and phrase.kind is Kind.POSITION:
            return Element(Kind.FOLLOW, f"{whom} {phrase.value}", at, phrase.end)
        return Element(Kind.FOLLOW, whom, at, end)

    # -- figures without their word ----------------------------------------------------------------

    def _rescue_figures(
        self, elements: list[Element], leftover: list[int]
    ) -> tuple[list[Element], list[int]]:
        """Give runs of bare figures a kind: a callsign without its word first, a runway without its word after."""
        kept: list[int] = []
        at = 0
        while at < len(leftover):
            place = leftover[at]
            number = read_digits(self.words, place, 4)
            if number is None:
                kept.append(place)
                at += 1
                continue
            end = place + number.length
            is_runway = (
                len(number.figures) <= 2
                and any(element.kind is Kind.CALLSIGN for element in elements)
                and 1 <= int(number.figures) <= 36
            )
            value = str(int(number.figures)) if is_runway else number.figures
            kind = Kind.RUNWAY if is_runway else Kind.CALLSIGN
            elements.append(self._finish(Element(kind, value, place, end, standard=False)))
            while at < len(leftover) and leftover[at] < end:
                at += 1
        return sorted(elements, key=lambda element: element.start), kept
