"""CSV that a spreadsheet shows as it is written, whatever a name or a reason begins with."""

import csv
import io
from collections.abc import Iterable, Sequence

Cell = str | int | float | None
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a spreadsheet takes for the beginning of a formula (OWASP, CSV injection), the wide forms too."""


def cell(value: Cell) -> Cell:
    """The value; a text that would be taken for a formula, after spaces too, gets an apostrophe before it."""
    if isinstance(value, str) and value.lstrip(" ").startswith(_FORMULA):
        return f"'{value}"
    return value


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """The table as CSV (RFC 4180); numbers stay numbers, None is empty."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerows([cell(value) for value in row] for row in (header, *rows))
    return out.getvalue()
