"""What a transmission was read as, and the names that are known while reading it."""

from dataclasses import dataclass

from phraseology.elements import Element, Kind
from phraseology.standards.standard import Standard
from phraseology.standards.us_military_tower import US_MILITARY_TOWER


@dataclass(frozen=True)
class World:
    """The names that are known on this frequency. `callsign_words` and `points` are upper case."""

    callsign_words: frozenset[str] = frozenset({"SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE"})
    points: frozenset[str] = frozenset()
    station: str = "corbel tower"
    standard: Standard = US_MILITARY_TOWER
    usual_figures: int = 2
    """How many figures callsigns here have; settles where a callsign ends and the next number begins."""

    @property
    def field_name(self) -> str:
        """ "corbel" of "corbel tower" or "corbel traffic"."""
        return self.station.lower().rpartition(" ")[0] or self.station.lower()


@dataclass(frozen=True)
class Parsed:
    """Elements in the order said, the words they index, and the indices of words that mean nothing here."""

    words: tuple[str, ...]
    elements: tuple[Element, ...]
    leftover: tuple[int, ...]
    confidences: tuple[float, ...] = ()

    def confidence(self, place: int) -> float:
        """How sure the ears were of the word there, 0 to 1."""
        return self.confidences[place] if place < len(self.confidences) else 1.0

    def all(self, kind: Kind) -> tuple[Element, ...]:
        return tuple(element for element in self.elements if element.kind is kind)

    def first(self, kind: Kind) -> Element | None:
        return next((element for element in self.elements if element.kind is kind), None)

    def value(self, kind: Kind) -> str | None:
        element = self.first(kind)
        return None if element is None or element.negated else element.value

    def has(self, kind: Kind, *values: str) -> bool:
        return any(element.value in values or not values for element in self.all(kind) if not element.negated)
