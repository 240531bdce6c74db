"""A drawing in the cells of a terminal: lines of braille dots, two by four in a cell, and words over them.

The libraries that were looked at either let a line erase what another has drawn in the same cell
(textual-hires-canvas 0.14) or give a string of colour codes (plotille 6.0, drawille 0.2).
"""

from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise

DotPlace = tuple[float, float]
"""In dots from the top left corner, rightwards and downwards."""

_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_BLANK = "\N{BRAILLE PATTERN BLANK}"


class Dots:
    """`width` and `height` in cells. An ink is a name; in a cell that two share the later one shows."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self._masks = [[0] * width for _ in range(height)]
        self._words: list[list[str]] = [[""] * width for _ in range(height)]
        self._inks = [[""] * width for _ in range(height)]

    def copy(self) -> "Dots":
        twin = Dots(0, 0)
        twin.width, twin.height = self.width, self.height
        twin._masks = [row.copy() for row in self._masks]
        twin._words = [row.copy() for row in self._words]
        twin._inks = [row.copy() for row in self._inks]
        return twin

    def dot(self, x: float, y: float, ink: str) -> None:
        """One dot; outside of the drawing nothing."""
        column, row = int(x // 2), int(y // 4)
        if 0 <= column < self.width and 0 <= row < self.height:
            self._masks[row][column] |= _BITS[int(y) % 4][int(x) % 2]
            self._inks[row][column] = ink

    def line(self, places: Sequence[DotPlace], ink: str, every: int = 1, wide: bool = False) -> None:
        """Through these places; `every` third dot only is a dotted line, `wide` one of two dots."""
        step = 0
        for (x, y), (to_x, to_y) in pairwise(places):
            count = max(1, round(max(abs(to_x - x), abs(to_y - y))))
            steep = abs(to_y - y) > abs(to_x - x)
            for index in range(count):
                here_x, here_y = x + (to_x - x) * index / count, y + (to_y - y) * index / count
                step += 1
                if step % every == 0:
                    self.dot(here_x, here_y, ink)
                    if wide:
                        self.dot(here_x + steep, here_y + (not steep), ink)

    def write(self, column: int, row: int, words: str, ink: str) -> None:
        """Words over the dots, cut off at the edges."""
        for at, letter in enumerate(words, column):
            if 0 <= at < self.width and 0 <= row < self.height:
                self._words[row][at], self._inks[row][at] = letter, ink

    def covered(self, column: int, row: int, length: int) -> int | None:
        """How many cells with dots these words would hide; None: they would not fit beside other words."""
        if not (0 <= row < self.height and column >= 0 and column + length <= self.width):
            return None
        cells = range(max(0, column - 1), min(self.width, column + length + 1))
        if any(self._words[row][at] for at in cells):
            return None
        return sum(self._masks[row][at] > 0 for at in range(column, column + length))

    def row(self, row: int) -> Iterable[tuple[str, str]]:
        """Text and ink, piece by piece; ink "" for what is empty."""
        cells = zip(self._words[row], self._masks[row], self._inks[row], strict=True)
        drawn = ((word or (chr(ord(_BLANK) + mask) if mask else " "), ink) for word, mask, ink in cells)
        for ink, pieces in groupby(drawn, lambda cell: cell[1]):
            yield "".join(text for text, _ in pieces), ink
