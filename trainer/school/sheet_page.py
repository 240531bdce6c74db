"""The class sheet and a student's sheet as pages: figures turned into the words that the templates show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from phraseology.assess import Verdict
from trainer.debrief.account import MARKS
from trainer.paper import page
from trainer.school.corrections import Correction
from trainer.school.figures import ClassFigures, ElementFigures, Fault, StudentFigures

MOST_COLUMNS, MOST_FAULTS = 12, 20
"""On a page; CSV and JSON have all."""


@dataclass(frozen=True)
class _Band:
    """A shade of the heat map; it holds from `least` per cent on."""

    least: int
    css: str
    sign: str
    meaning: str


_BANDS = (
    _Band(95, "b3", "+", "95 % and more"),
    _Band(80, "b2", "~", "80 to 94 %"),
    _Band(50, "b1", "!", "50 to 79 %"),
    _Band(0, "b0", "x", "under 50 %"),
)


@dataclass(frozen=True)
class _Column:
    title: str
    figures: bool = False


@dataclass(frozen=True)
class _Table:
    """Head and rows; the first cell of a row names it."""

    title: str
    head: tuple[_Column, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class _Heat:
    css: str
    sign: str
    words: str
    tries: int


def class_page(figures: ClassFigures, made: str, files: Sequence[str] = ()) -> str:
    """The class sheet, of the day `made`; `files` are the student sheets without ending, none: no links."""
    costly = [each for each in figures.elements if each.points]
    columns = [each.element for each in costly[:MOST_COLUMNS]]
    rows = [
        {"title": student.title, "cells": [_heat(student.element(name)) for name in columns]}
        for student in figures.students
    ]
    rows.append({"title": "All", "cells": [_heat(each) for each in costly[:MOST_COLUMNS]]})
    return page(
        "class.html",
        name=figures.name,
        made=made,
        figures=[
            ("students", str(len(figures.students))),
            ("calls accepted", f"{figures.accepted} of {figures.calls}"),
            ("mean score of 100", _number(figures.score)),
            ("usual time to answer", _seconds(figures.answer_s)),
        ],
        students=_students(figures),
        links=[
            {"file": file, "title": student.title}
            for file, student in zip(files, figures.students, strict=bool(files))
        ],
        columns=columns,
        heat_rows=rows,
        left_out=len(costly) - len(columns),
        bands=_BANDS,
        faults=_common_errors(figures.faults),
        corrections=_corrections(each for student in figures.students for each in student.corrections),
    )


def student_page(student: StudentFigures, figures: ClassFigures, made: str) -> str:
    """One student's sheet, of the day `made`."""
    before = [_drills(student)] if student.drills else []
    after = [_faults(student.faults), _times(student), _sessions(student)]
    after.append(_corrections(student.corrections))
    scores = [each.score for each in student.sessions]
    return page(
        "student.html",
        title=student.title,
        name=figures.name,
        made=made,
        figures=[
            ("sessions", str(len(student.sessions))),
            ("calls accepted", f"{student.accepted} of {student.calls}"),
            ("calls not made", str(student.missed)),
            ("mean score of 100", _number(student.score)),
            ("trend", _change(student.trend)),
            ("usual time to answer", _seconds(student.answer_s)),
            ("that of the class", _seconds(figures.answer_s)),
        ],
        work_on=student.weaknesses[:3],
        nothing="Nothing stands out." if student.calls else "Nothing was collected yet.",
        before=before,
        heat_rows=[
            {"title": each.element, "cell": _heat(each), "points": str(each.points)}
            for each in student.elements
            if each.points
        ],
        always=", ".join(each.element for each in student.elements if each.share == 1.0),
        bands=_BANDS,
        after=[table for table in after if table.rows],
        line=_line(scores),
        scores=", ".join(f"{score:.0f}" for score in scores),
    )


# -- tables --------------------------------------------------------------------------------------------


def _students(figures: ClassFigures) -> _Table:
    drills = max((len(each.drills) for each in figures.students), default=0)
    head = [
        _Column("Student"),
        _Column("Work on first"),
        *(_Column(title, True) for title in ("Sessions", "Calls", "Accepted", "Score", "Trend", "To answer")),
    ]
    if drills:
        head.append(_Column("Drills flown", True))
    rows = []
    for each in figures.students:
        first = ", ".join(each.weaknesses[:3]) or "nothing stands out"
        row = [
            each.title,
            first if each.calls else "nothing collected yet",
            str(len(each.sessions)),
            str(each.calls),
            str(each.accepted),
            _number(each.score),
            _change(each.trend),
            _seconds(each.answer_s) + (" ! slow" if each.slow else ""),
        ]
        if drills:
            row.append(f"{sum(drill.flown > 0 for drill in each.drills)} of {drills}")
        rows.append(tuple(row))
    return _Table("Students", tuple(head), tuple(rows))


def _common_errors(faults: Sequence[Fault]) -> _Table:
    """Over all calls: an element and what was wrong with it, in which calls most, and whose it is."""
    together: dict[tuple[str, str], list[Fault]] = {}
    for fault in faults:
        together.setdefault((fault.element, fault.verdict), []).append(fault)
    rows = []
    for (element, verdict), found in together.items():
        calls = [each.title for each in found]
        more = f" and {len(calls) - 3} more" if len(calls) > 3 else ""
        who = dict.fromkeys(student for each in found for student in each.students)
        times, points = sum(each.times for each in found), sum(each.points for each in found)
        rows.append(
            (
                points,
                (
                    element,
                    _was(verdict),
                    f"{times}",
                    f"{points}",
                    "; ".join(calls[:3]) + more,
                    ", ".join(who),
                ),
            )
        )
    rows.sort(key=lambda row: -row[0])
    head = (_Column("Element"), _Column("Was"), _Column("Times", True), _Column("Points", True))
    return _Table(
        "Common errors",
        (*head, _Column("Mostly in"), _Column("Who")),
        tuple(row for _, row in rows[:MOST_FAULTS]),
    )


def _faults(faults: Sequence[Fault]) -> _Table:
    head = (
        _Column("Element"),
        _Column("Call"),
        _Column("Was"),
        _Column("Times", True),
        _Column("Points", True),
    )
    return _Table(
        "Errors",
        head,
        tuple(
            (each.element, each.title, _was(each.verdict), str(each.times), str(each.points))
            for each in faults[:MOST_FAULTS]
        ),
    )


def _was(verdict: str) -> str:
    signs = {each.value: sign for each, sign in MARKS.items()} | {"missed": MARKS[Verdict.MISSING]}
    return f"{signs[verdict]} {verdict}"


def _times(student: StudentFigures) -> _Table:
    return _Table(
        "Time to answer",
        (_Column("Call"), _Column("Usual", True), _Column("Measured", True)),
        tuple((each.title, _seconds(each.answer_s), str(each.calls)) for each in student.times),
    )


def _drills(student: StudentFigures) -> _Table:
    return _Table(
        "Assigned drills",
        (_Column("Drill"), _Column("Flown", True), _Column("Best score", True)),
        tuple(
            (each.title, str(each.flown) if each.flown else "not yet", _number(each.best))
            for each in student.drills
        ),
    )


def _sessions(student: StudentFigures) -> _Table:
    figures = ("Calls", "Accepted", "Score", "To answer", "Corrected")
    return _Table(
        "Sessions",
        (
            _Column("Session"),
            _Column("Began"),
            _Column("Drill"),
            *(_Column(title, True) for title in figures),
        ),
        tuple(
            (
                str(each.session),
                each.started[:16].replace("T", " "),
                f"{each.title or '–'}{' (assigned)' if each.assigned else ''}",
                str(each.calls),
                str(each.accepted),
                _number(each.score),
                _seconds(each.answer_s),
                str(each.corrected or ""),
            )
            for each in student.sessions
        ),
    )


def _corrections(made: Iterable[Correction]) -> _Table:
    head = ("Element", "Session and call", "As judged", "As corrected", "Reason", "When")
    return _Table(
        "Corrected by the instructor",
        tuple(_Column(title) for title in head),
        tuple(
            (
                each.element,
                f"session {each.session}, call {each.call}",
                f"{MARKS[each.was]} {each.was.value}, {each.was_severity.value}",
                f"{MARKS[each.now]} {each.now.value}, {each.now_severity.value}",
                each.reason,
                each.made[:10],
            )
            for each in made
        ),
    )


# -- words ---------------------------------------------------------------------------------------------


def _heat(element: ElementFigures | None) -> _Heat:
    if element is None or element.share is None:
        return _Heat("", "", "–", 0)
    per_cent = int(100 * element.share)  # 94.9 is not 95
    band = next(each for each in _BANDS if per_cent >= each.least)
    return _Heat(band.css, band.sign, f"{per_cent} %", element.tries)


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:.0f}"


def _seconds(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f} s"


def _change(value: float | None) -> str:
    if value is None:
        return "–"
    if abs(value) < 0.5:
        return "= 0"
    return f"▲ +{value:.0f}" if value > 0 else f"▼ −{-value:.0f}"


def _line(scores: Sequence[float]) -> str:
    """The scores as points of a polyline, "" for fewer than two."""
    if len(scores) < 2:
        return ""
    step = 556 / (len(scores) - 1)
    return " ".join(f"{37 + step * place:.1f},{110 - score:.1f}" for place, score in enumerate(scores))
