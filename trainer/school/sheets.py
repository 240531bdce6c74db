"""The sheets of a class as files: a page, CSV and JSON for the class and for each student."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from trainer.errors import TrainerError
from trainer.paper import write_page
from trainer.school.cells import Cell, csv_text
from trainer.school.figures import ClassFigures, ElementFigures, StudentFigures
from trainer.school.sheet_page import class_page, student_page


def sheet_files(figures: ClassFigures, made: str) -> Iterator[tuple[str, str]]:
    """Name and text of every file; `made` is the day as people read it."""
    names = [_file_name(number, each.key) for number, each in enumerate(figures.students, 1)]
    yield "class.html", class_page(figures, made, names)
    yield "class.csv", class_csv(figures)
    yield "class.json", _json(figures.as_json())
    for name, student in zip(names, figures.students, strict=True):
        yield f"{name}.html", student_page(student, figures, made)
        yield f"{name}.csv", student_csv(student)
    for name, plain in zip(names, figures.as_json()["students"], strict=True):
        yield f"{name}.json", _json(plain)


def write_sheets(figures: ClassFigures, folder: Path, made: str) -> list[Path]:
    """All files, into the folder, over those of an earlier time. TrainerError if that cannot be."""
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise TrainerError(
            f"{folder} cannot be made ({error.strerror})", "name another with --out"
        ) from error
    for name, text in sheet_files(figures, made):
        write_page(folder / name, text)
        written.append(folder / name)
    return written


def class_csv(figures: ClassFigures) -> str:
    """A row a student: figures, what to work on, the share right of each element."""
    elements = [each.element for each in figures.elements]
    header = ("student", "sessions", "calls", "accepted", "not_made", "score", "trend", "answer_s", "slow")
    return csv_text(
        (*header, "work_on", *elements),
        (
            (
                each.title,
                len(each.sessions),
                each.calls,
                each.accepted,
                each.missed,
                _rounded(each.score),
                _rounded(each.trend),
                _rounded(each.answer_s),
                "yes" if each.slow else "no",
                ", ".join(each.weaknesses[:3]),
                *(_share(each.element(name)) for name in elements),
            )
            for each in figures.students
        ),
    )


def student_csv(student: StudentFigures) -> str:
    """A row an error: where, what, how often and what it cost."""
    return csv_text(
        ("student", "call", "element", "verdict", "times", "points_lost"),
        (
            (student.title, fault.title, fault.element, fault.verdict, fault.times, fault.points)
            for fault in student.faults
        ),
    )


def _rounded(value: float | None) -> Cell:
    return None if value is None else round(value, 1)


def _share(element: ElementFigures | None) -> Cell:
    return None if element is None or element.share is None else round(element.share, 3)


def _file_name(number: int, key: str) -> str:
    """Of this student's files without ending; only ASCII letters and figures of the key get into it."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", key).strip("-").lower()[:30]
    return f"student-{number:02d}-{plain}" if plain else f"student-{number:02d}"


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"
