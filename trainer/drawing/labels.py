"""Words beside lines on a page, placed so that none lies on another.

Each label tries its places in order. The first that is free of other labels and crosses no line is taken,
else the free one that crosses fewest; a label for which there is no free place is left out.
"""

from collections.abc import Iterable, Sequence
from dataclasses import InitVar, dataclass, field
from itertools import pairwise

from trainer.drawing.svg import Place

EM_WIDTH = 0.68
"""Of a capital or a figure of a callsign, as a share of the font size: 0.65 was measured in DejaVu Sans."""
_APART = 1.0
_COLUMN = 40.0
_FREE_PLACES = 16
"""How many free places of a label are looked at for one that no line crosses."""


@dataclass(frozen=True)
class Box:
    """Pixels; down is positive."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def of(cls, words: str, at: Place, size: float) -> "Box":
        """Of words that begin at a place on their baseline."""
        x, y = at
        return cls(x, y - 0.9 * size, x + EM_WIDTH * size * len(words), y + 0.25 * size)

    def meets(self, other: "Box") -> bool:
        return (
            self.left < other.right + _APART
            and other.left < self.right + _APART
            and self.top < other.bottom + _APART
            and other.top < self.bottom + _APART
        )

    def within(self, other: "Box") -> bool:
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.top <= self.top
            and self.bottom <= other.bottom
        )

    def crossed_by(self, one: Place, other: Place) -> bool:
        """Whether the line from one place to the other goes through it (Liang and Barsky 1984)."""
        enters, leaves = 0.0, 1.0
        for begin, end, low, high in (
            (one[0], other[0], self.left, self.right),
            (one[1], other[1], self.top, self.bottom),
        ):
            step = end - begin
            if abs(step) < 1e-12:
                if not low < begin < high:
                    return False
                continue
            at_low, at_high = sorted(((low - begin) / step, (high - begin) / step))
            enters, leaves = max(enters, at_low), min(leaves, at_high)
        return enters < leaves


@dataclass
class Labels:
    """`page` is where words may stand; `lines` are kept clear where that is possible."""

    page: Box
    size: float
    lines: InitVar[Sequence[Sequence[Place]]] = ()
    taken: list[Box] = field(default_factory=list)
    _columns: dict[int, list[tuple[Place, Place]]] = field(default_factory=dict, init=False)

    def __post_init__(self, lines: Sequence[Sequence[Place]]) -> None:
        for line in lines:
            for piece in pairwise(line):
                (x, _), (to_x, _) = piece
                for column in _columns(min(x, to_x), max(x, to_x)):
                    self._columns.setdefault(column, []).append(piece)

    def place(self, words: str, places: Iterable[Place]) -> Place | None:
        """Where the words go, of these beginnings of their baseline; None where none is free."""
        best: tuple[int, Place, Box] | None = None
        tries = 0
        for at in places:
            box = Box.of(words, at, self.size)
            if not box.within(self.page) or any(box.meets(other) for other in self.taken):
                continue
            crossed = self._crossed(box)
            if best is None or crossed < best[0]:
                best = crossed, at, box
            tries += 1
            if crossed == 0 or tries == _FREE_PLACES:
                break
        if best is None:
            return None
        self.taken.append(best[2])
        return best[1]

    def _crossed(self, box: Box) -> int:
        pieces = {
            piece for column in _columns(box.left, box.right) for piece in self._columns.get(column, ())
        }
        return sum(box.crossed_by(*piece) for piece in pieces)


def _columns(left: float, right: float) -> range:
    return range(int(left // _COLUMN), int(right // _COLUMN) + 1)
