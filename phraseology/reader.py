"""One pass over the words of a transmission: which element starts where.

Left to right, longest phrase first. It never repairs: a digit is the digit that was heard, and a
word that means nothing here stays a leftover word.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from phraseology.elements import Element, Kind
from phraseology.numbers import DIGIT_VALUES, NUMBER_WORDS, TENS_VALUES, read_digits, read_thousands
from phraseology.parsed import Parsed, World
from phraseology.phrases import AIRCRAFT_TYPES, CONNECTIVES, DIRECTIONS, FORMS_BY_WORD, LETTERS, NEGATIONS

_PRESSURES = ("28", "29", "30", "31")
"""First figures of an altimeter setting in inches: a bare run of four figures is one."""
_SIDES = frozenset({"left", "right", "center"})
MILES = frozenset({"mile", "miles"})
_BEFORE_ALTITUDE = frozenset(
    {"above", "altitude", "maintain", "maintaining", "passing", "climbing", "descending", "level", "at"}
)
_UNITS = MILES | {"thousand", "hundred", "feet", "knots", "point", "decimal"}
_ACTING = frozenset({Kind.ACTION, Kind.CLEARANCE, Kind.INTENTION, Kind.GEAR, Kind.CLOSED, Kind.BREAK})


class Reader:
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
            self._read_where_in_short,
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
        figures = min(self.confidences[element.start + 1 : element.end], default=1.0)
        return replace(element, negated=negated, confidence=confidence, figures_confidence=figures)

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
            or word in NUMBER_WORDS
            or word in CONNECTIVES
            or word in NEGATIONS
            or word in LETTERS
            or word in _SIDES
            or word.upper() in self.world.points
            or word in _UNITS
            or word in ("tower", "wind", "gusts", "altimeter", "follow", "heading", "squawk")
            or any(word in direction.split() for direction in DIRECTIONS)
        )

    def _read_callsign(self, at: int) -> Element | None:
        word = self._word(at)
        known = word.upper() in self.world.callsign_words
        end = self._end_of_figures(at + 1)
        if end > at + 1 and (known or self._is_name(at)):
            number = read_digits(self.words[:end], at + 1, 8)
            assert number is not None
            end = self._end_of_flight(end)
            return Element(Kind.CALLSIGN, f"{word.upper()} {number.figures}", at, end, number.standard)
        if known:
            return Element(Kind.CALLSIGN, word.upper(), at, at + 1)
        return self._read_callsign_without_its_word(at)

    def _read_callsign_without_its_word(self, at: int) -> Element | None:
        """ "two one three mile initial": figures in the callsign's place, the next number right behind."""
        if self._word(at) not in NUMBER_WORDS or (at and self._word(at - 1) != "tower"):
            return None
        end = self._end_of_figures(at)
        number = read_digits(self.words[:end], at, 8)
        usual = number is not None and len(number.figures) == self.world.usual_figures
        if number is None or not usual or self._word(end) not in NUMBER_WORDS:
            return None
        return Element(Kind.CALLSIGN, number.figures, at, end, standard=False)

    def _end_of_flight(self, at: int) -> int:
        """Where "flight", or "flight of two", ends behind a callsign: the leader talks for the flight."""
        if self._word(at) != "flight":
            return at
        return at + 3 if self._word(at + 1) == "of" and self._word(at + 2) in NUMBER_WORDS else at + 1

    def _end_of_figures(self, start: int) -> int:
        """Where the callsign's figures from `start` end: figures that begin another element are left to it.

        "sable two one three mile initial" is SABLE 21 at three miles: of the possible ends the one with
        the usual number of figures is taken, else the last. Without another element every figure counts.
        """
        run = start
        while self._word(run) in NUMBER_WORDS:
            run += 1
        ends: list[int] = []
        for end in range(start, run):
            if self._another_element(end, run):
                ends.append(end)
        for end in ends:
            if self._word(end - 1) in TENS_VALUES and self._word(end) in DIGIT_VALUES:
                continue  # "twenty one" is one number
            number = read_digits(self.words[:end], start, 8)
            if number and len(number.figures) == self.world.usual_figures:
                return end
        return ends[-1] if ends else run

    def _another_element(self, at: int, run: int) -> bool:
        """True if the figures from `at` to the end of the run say something other than a callsign."""
        if self._begins_longer(at, run):
            return True
        rest = read_digits(self.words[:run], at, 8)
        if rest is None or any(self._begins_longer(place, run) for place in range(at + 1, run)):
            return False
        is_pressure = len(rest.figures) == 4 and rest.figures[:2] in _PRESSURES
        is_runway = len(rest.figures) == 2 and 1 <= int(rest.figures) <= 36 and rest.length == 2
        is_where = self._read_where_in_short(at) is not None
        before = read_digits(self.words[:at], max(0, at - self.world.usual_figures), 8)
        usual = before is not None and len(before.figures) == self.world.usual_figures
        return usual and (is_pressure or is_runway or is_where) and run - at == rest.length

    def _begins_longer(self, at: int, run: int) -> bool:
        """True if an element starts at `at` that goes on beyond the figures: "three mile initial"."""
        readers = (self._read_where, self._read_initial_distance, self._read_altitude, self._read_phrase)
        return any((element := reader(at)) is not None and element.end > run for reader in readers)

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
        value = f"{direction.figures}/{int(speed.figures)}"
        return Element(Kind.WIND, value, at, place, direction.standard)

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
        an_altitude = self._word(at - 1) in _BEFORE_ALTITUDE or self._word(end) == "feet"
        if not named and (not is_pressure or an_altitude):
            return None
        if len(figures) < 2:
            return None
        return Element(Kind.ALTIMETER, figures, at, end, first.standard)

    def _read_altitude(self, at: int) -> Element | None:
        number = read_thousands(self.words, at)
        standard = True
        if number is None and self._word(at - 1) in _BEFORE_ALTITUDE:
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
        if self._word(place) not in MILES:
            return None
        place += 1
        while self._word(place) in ("to", "the"):
            place += 1
        # ten, eleven and twelve miles are plain English in every standard
        return self._where(number.figures, at, place, standard=True)

    def _read_where_in_short(self, at: int) -> Element | None:
        """ "ten west": the miles left out."""
        number = read_digits(self.words, at, 2)
        return number and self._where(number.figures, at, at + number.length, standard=False)

    def _where(self, miles: str, at: int, place: int, *, standard: bool) -> Element | None:
        if miles[0] == "0":
            return None
        for direction in DIRECTIONS:
            if self._starts(place, direction):
                value = f"{int(miles)} {direction.replace(' ', '')}"
                return Element(Kind.WHERE, value, at, place + len(direction.split()), standard)
        return None

    def _read_initial_distance(self, at: int) -> Element | None:
        number = read_digits(self.words, at, 2)
        if number is None or number.figures == "0" or self._word(at + number.length) not in MILES:
            return None
        if number.length > 1:
            return None  # an initial is 3 to 5 miles long: two figures are the end of something else
        after = self._word(at + number.length + 1)
        if after == "initial" or "initial" in self.words[max(0, at - 2) : at]:
            return Element(
                Kind.DISTANCE, str(int(number.figures)), at, at + number.length + 1, number.standard
            )
        return None

    # -- phrases ---------------------------------------------------------------------------------

    def _read_phrase(self, at: int) -> Element | None:
        for words, phrase, standard in FORMS_BY_WORD.get(self._word(at), ()):
            end = at + len(words)
            if self.words[at:end] == words and not self._is_negative_before_more(at, end):
                return Element(phrase.kind, phrase.value, at, at + len(words), standard)
        return None

    def _is_negative_before_more(self, at: int, end: int) -> bool:
        """ "negative, closed approved" corrects a read-back; "negative closed" denies."""
        if self._word(at) != "negative" or end == at + 1:
            return False
        after = self._read_phrase(at + 1)
        return after is not None and after.end > end

    def _read_report(self, at: int) -> Element | None:
        """ "report quarry", "report three mile initial", "report the break": what is to be reported."""
        if self._word(at) != "report":
            return None
        place = at + 1
        while self._word(place) in ("the", "over", "at", "passing", "on", "established", "turning"):
            place += 1
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
        while True:
            phrase = self._read_phrase(place)
            if phrase and phrase.kind is Kind.POSITION:
                return Element(Kind.FOLLOW, f"{whom} {phrase.value}", at, phrase.end)
            if self._word(place) not in ("on", "in", "at", "the"):
                return Element(Kind.FOLLOW, whom, at, end)
            place += 1

    # -- figures without their word ----------------------------------------------------------------

    def _rescue_figures(
        self, elements: list[Element], leftover: list[int]
    ) -> tuple[list[Element], list[int]]:
        """Give runs of bare figures a kind: a callsign, a runway or an altitude without its word.

        What can be none of them stays left over.
        """
        kept: list[int] = []
        at = 0
        while at < len(leftover):
            first = last = leftover[at]
            while self._word(last) in NUMBER_WORDS and last in leftover[at:]:
                last += 1
            found = self._bare_figures(first, last, elements)
            if found:
                elements.append(self._finish(found))
            else:
                kept += range(first, max(last, first + 1))
            at += max(last - first, 1)
        return sorted(elements, key=lambda element: element.start), kept

    def _bare_figures(self, first: int, last: int, elements: list[Element]) -> Element | None:
        number = read_digits(self.words[:last], first, 8)
        if number is None or number.length < last - first or self._word(last) in _UNITS:
            return None
        count, value = len(number.figures), int(number.figures)
        if count in (4, 5) and number.figures.endswith("00") and value:
            return Element(Kind.ALTITUDE, str(value), first, last, standard=False)
        if not any(element.kind is Kind.CALLSIGN for element in elements):
            return Element(Kind.CALLSIGN, number.figures, first, last, standard=False)
        if count == 2 and 1 <= value <= 36:
            return Element(Kind.RUNWAY, str(value), first, last, standard=False)
        return None
