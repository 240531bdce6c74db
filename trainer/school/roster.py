"""The roster of a class: a name or a number of each student, and nothing else about anybody."""

import csv
import io
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from trainer.errors import TrainerError

COLUMNS = ("name", "number")
MOST_STUDENTS = 500
MOST_BYTES = 1_000_000
"""Of a table that is read."""
LONGEST = 60
_REMEDY = "write one line a student with the columns name, number or both, the first line naming them"


class Student(BaseModel):
    """A student; either may be "", not both."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = ""
    number: str = ""

    @property
    def key(self) -> str:
        """What the student is known by in files: the number, or the name."""
        return self.number or self.name

    @property
    def title(self) -> str:
        """As people read it: "7 Alder", or what there is of it."""
        return " ".join(part for part in (self.number, self.name) if part)


def read_roster(path: Path) -> list[Student]:
    """The students of a CSV file, in its order; TrainerError with the line for what cannot stand there.

    A column beside name and number is refused: what is not needed is not kept.
    """
    rows = _rows(path)
    header = [column.strip().lower() for column in rows[0][1]]
    for column in header:
        if column not in COLUMNS:
            raise TrainerError(
                f'{path}, line {rows[0][0]}: the column "{column}" is not kept, only a name and a number',
                _REMEDY,
            )
    if len(set(header)) != len(header):
        raise TrainerError(f"{path}, line {rows[0][0]}: a column stands there twice", _REMEDY)
    students: list[Student] = []
    seen: dict[str, int] = {}
    for line, cells in rows[1:]:
        if len(cells) != len(header):
            raise TrainerError(
                f"{path}, line {line}: {len(cells)} cells under {len(header)} columns", _REMEDY
            )
        student = Student(
            **{column: _cell(cell, path, line) for column, cell in zip(header, cells, strict=True)}
        )
        if not student.key:
            raise TrainerError(f"{path}, line {line}: neither name nor number", _REMEDY)
        for called in {student.name.casefold(), student.number.casefold()} - {""}:
            if called in seen:
                raise TrainerError(
                    f'{path}, line {line}: "{called}" stands in line {seen[called]} already',
                    "give each student a name or number of his own",
                )
            seen[called] = line
        students.append(student)
    if not 1 <= len(students) <= MOST_STUDENTS:
        raise TrainerError(f"{path}: {len(students)} students", f"a class has 1 to {MOST_STUDENTS}")
    return students


def read_table(path: Path) -> str:
    """The text of a table that a person has made; TrainerError if it cannot be read or is no such thing."""
    try:
        with path.open("rb") as file:
            written = file.read(MOST_BYTES + 1) if path.is_file() else b""
        if len(written) > MOST_BYTES:
            raise TrainerError(f"{path} is larger than {MOST_BYTES // 1000} kB", _REMEDY)
        return written.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise TrainerError(f"{path} is not UTF-8 text", "save it as CSV in UTF-8") from None
    except OSError as error:
        raise TrainerError(
            f"{path} cannot be read ({error.strerror})", "check the name and its rights"
        ) from None


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    """Line and cells of every line that is not empty, the header first."""
    text = read_table(path)
    try:
        delimiter = ";" if ";" in text.partition("\n")[0] else ","
        reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
        rows = [(reader.line_num, cells) for cells in reader if any(cell.strip() for cell in cells)]
    except csv.Error as error:
        raise TrainerError(f"{path} is not a CSV file ({error})", _REMEDY) from None
    if not rows:
        raise TrainerError(f"{path} is empty", _REMEDY)
    return rows


def _cell(cell: str, path: Path, line: int) -> str:
    text = " ".join(cell.split())
    if len(text) > LONGEST or not text.isprintable():
        raise TrainerError(f"{path}, line {line}: not a name or number", f"write at most {LONGEST} letters")
    return text
