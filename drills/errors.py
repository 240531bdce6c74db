"""What can be wrong with a drill or a field, as values and as errors that say the remedy."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from phraseology.suggesting import nearest

Path = tuple[str | int, ...]
"""Where in a file: keys and list positions from the outside in, ("runways", 0, "end")."""


class Severity(StrEnum):
    ERROR = "error"  # the file cannot be used
    WARNING = "warning"  # it can, but it departs from a published rule or will surprise somebody


@dataclass(frozen=True)
class Problem:
    """Something wrong at a path of a drill or field, before line and column are known."""

    path: Path
    message: str
    remedy: str
    severity: Severity = Severity.ERROR


@dataclass(frozen=True)
class Finding:
    """Something wrong in a file. `line` and `column` count from 1."""

    severity: Severity
    file: str
    line: int
    column: int
    message: str
    remedy: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}:{self.column}"
        return _printable(f"{where}: {self.severity}: {self.message}; {self.remedy}.")


class DrillError(Exception):
    """Root of everything that this package raises: what is wrong, where, and what to write instead.

    `file` is empty when the fault lies in no file; `line` and `column` count from 1.
    """

    def __init__(self, problem: str, remedy: str, file: str = "", line: int = 1, column: int = 1) -> None:
        super().__init__(problem, remedy, file, line, column)
        self.problem = problem
        self.remedy = remedy
        self.file = file
        self.line = line
        self.column = column

    def __str__(self) -> str:
        where = f"{self.place}: " if self.file else ""
        return _printable(f"{where}{self.problem}; {self.remedy}.")

    @property
    def place(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"

    @classmethod
    def of(cls, finding: Finding) -> "DrillError":
        return cls(finding.message, finding.remedy, finding.file, finding.line, finding.column)

    @property
    def finding(self) -> Finding:
        return Finding(Severity.ERROR, self.file, self.line, self.column, self.problem, self.remedy)


class UnknownName(DrillError):
    """A look-up by name failed; `choices` are the names there are."""

    def __init__(self, what: str, name: str, choices: Iterable[str]) -> None:
        self.choices = tuple(choices)
        super().__init__(f"there is no {what} {quoted(name)}", suggestion(name, self.choices))


def quoted(value: object) -> str:
    """The value as written, in quotes, cut short where it would fill the screen."""
    text = str(value)
    return f'"{text[:57]}..."' if len(text) > 60 else f'"{text}"'


def _printable(text: str) -> str:
    """A file may hold half a surrogate pair or an escape sequence; a terminal must not get it."""
    return "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in text)


def suggestion(name: str, choices: Iterable[str]) -> str:
    """The remedy for a name that is not among the choices."""
    known = tuple(choices)
    likely = nearest(name, known)
    listed = ", ".join(known) or "none"
    return f'did you mean "{likely}"? The choices are: {listed}' if likely else f"write one of: {listed}"
