"""One pass over the words of a transmission: which element starts where."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from phraseology.elements import Element, Kind
from phraseology.numbers import NUMBER_WORDS, read_digits
from phraseology.parsed import Parsed, World
from phraseology.phrases import CONNECTIVES, NEGATIONS
from phraseology.reading import composite, fixed, names, quantities
from phraseology.reading.cursor import Words

_ACTING = frozenset({Kind.ACTION, Kind.CLEARANCE, Kind.INTENTION, Kind.GEAR, Kind.CLOSED, Kind.BREAK, Kind.FUEL})

_READERS: tuple[Callable[[Words, int], Element | None], ...] = (
    fixed.part,
    composite.report,
    composite.follow,
    composite.traffic_information,
    composite.sighting,
    composite.condition,
    composite.hold,
    composite.unavailable,
    names.station,
    names.field,
    quantities.runway,
    quantities.wind,
    quantities.altimeter,
    quantities.qnh,
    quantities.heading,
    quantities.frequency,
    quantities.time,
    quantities.fuel,
    quantities.souls,
    quantities.speed,
    quantities.break_after,
    quantities.readability,
    names.callsign,
    names.flight,
    quantities.sequence,
    quantities.where,
    quantities.where_in_short,
    quantities.distance,
    quantities.altitude,
    fixed.atis,
    fixed.side,
    fixed.phrase,
    names.point,
)
"""In this order each is asked what starts at a place: what goes on further goes before what stops sooner."""


class Reader:
    """One pass over the words; `confidences` has one entry a word."""

    def __init__(self, words: tuple[str, ...], confidences: Sequence[float], world: World) -> None:
        self._words = Words(words, world)
        self._confidences = confidences

    def read(self) -> Parsed:
        elements: list[Element] = []
        leftover: list[int] = []
        said = self._words.said
        at = 0
        while at < len(said):
            element = next((found for reader in _READERS if (found := reader(self._words, at))), None)
            if element is None:
                leftover.append(at)
                at += 1
                continue
            side = fixed.side_within(self._words, element)
            elements += [self._finish(found) for found in (side, element) if found]
            at = element.end
        elements, leftover = self._rescue_figures(elements, leftover)
        meaningless = tuple(
            place for place in leftover if said[place] not in CONNECTIVES and said[place] not in NEGATIONS
        )
        return Parsed(said, tuple(elements), meaningless)

    def _finish(self, element: Element) -> Element:
        before = element.start - 1
        while self._words.at(before) in ("a", "the", "for", "be"):
            before -= 1
        negated = element.kind in _ACTING and self._words.at(before) in NEGATIONS
        confidence = min(self._confidences[element.start : element.end], default=1.0)
        figures = min(self._confidences[element.start + 1 : element.end], default=1.0)
        return replace(element, negated=negated, confidence=confidence, figures_confidence=figures)

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
            while self._words.at(last) in NUMBER_WORDS and last in leftover[at:]:
                last += 1
            found = self._bare_figures(first, last, elements)
            if found:
                elements.append(self._finish(found))
            else:
                kept += range(first, max(last, first + 1))
            at += max(last - first, 1)
        return sorted(elements, key=lambda element: element.start), kept

    def _bare_figures(self, first: int, last: int, elements: list[Element]) -> Element | None:
        number = read_digits(self._words.said[:last], first, 8)
        if number is None or number.length < last - first or self._words.at(last) in quantities.UNITS:
            return None
        count, value = len(number.figures), int(number.figures)
        if count in (4, 5) and number.figures.endswith("00") and value:
            return Element(Kind.ALTITUDE, str(value), first, last, standard=False)
        if not any(element.kind is Kind.CALLSIGN for element in elements):
            return Element(Kind.CALLSIGN, number.figures, first, last, standard=False)
        if count == 2 and 1 <= value <= 36:
            return Element(Kind.RUNWAY, str(value), first, last, standard=False)
        return None
