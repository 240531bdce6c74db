"""The figures of a class: what was counted, dealt out to its students."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import Any

from trainer.debrief.debriefing import call_title
from trainer.logbook.progress import trend
from trainer.school.classroom import Classroom
from trainer.school.corrections import Correction, corrections
from trainer.school.figures import (
    NOT_MADE,
    CallTime,
    ClassFigures,
    DrillLine,
    ElementFigures,
    Fault,
    SessionLine,
    StudentFigures,
)
from trainer.school.roster import Student
from trainer.school.tally import FaultKey, SessionTally, Tally

SLOW_TIMES, SLOW_S = 1.5, 2.0
"""Slow is who takes so many times as long as the class, and so many seconds more. Our own scale."""


def class_figures(room: Classroom) -> ClassFigures:
    """Of everything that was collected; TrainerError or LogbookError where it cannot be read."""
    made = corrections(room)
    with room.logbook() as logbook:
        tally = Tally(logbook, made)
    keys = {each.key for each in room.students}
    sessions = [each for each in tally.sessions.values() if each.student in keys]
    usual_s = _median_s(sessions)
    students = tuple(_student(room, each, tally, made, usual_s) for each in room.students)
    return ClassFigures(
        name=room.name,
        students=students,
        calls=sum(each.calls for each in sessions),
        accepted=sum(each.accepted for each in sessions),
        score=_mean_score(sessions),
        answer_s=usual_s,
        elements=_all_elements(students),
        faults=_all_faults(students),
    )


def _student(
    room: Classroom, student: Student, tally: Tally, made: Sequence[Correction], usual_s: float | None
) -> StudentFigures:
    sessions = [each for each in tally.sessions.values() if each.student == student.key]
    own = {each.number for each in sessions}
    titles = [each.title for each in room.drills]
    lines = tuple(_line(each, titles, made) for each in sessions)
    calls, missed = sum(each.calls for each in sessions), sum(each.missed for each in sessions)
    answer_s = _median_s(sessions)
    faults = tally.faults[student.key]
    return StudentFigures(
        key=student.key,
        title=student.title,
        sessions=lines,
        drills=tuple(_drill_line(title, lines) for title in titles),
        calls=calls,
        accepted=sum(each.accepted for each in sessions),
        missed=missed,
        score=_mean_score(sessions),
        trend=trend([line.score for line in lines]),
        answer_s=answer_s,
        slow=_is_slow(answer_s, usual_s),
        elements=_elements(tally.tries[student.key], faults, calls, missed),
        faults=_sorted_faults(
            Fault(*key, times, points, (student.title,)) for key, (times, points) in faults.items()
        ),
        times=_times(sessions),
        corrections=tuple(each for each in made if each.session in own),
    )


def _line(session: SessionTally, titles: Sequence[str], made: Sequence[Correction]) -> SessionLine:
    return SessionLine(
        session=session.number,
        started=session.started,
        title=session.title,
        assigned=session.title in titles,
        calls=session.calls,
        accepted=session.accepted,
        score=session.points / session.calls,
        answer_s=_median_s([session]),
        corrected=sum(each.session == session.number for each in made),
    )


def _drill_line(title: str, lines: Sequence[SessionLine]) -> DrillLine:
    scores = [line.score for line in lines if line.title == title]
    return DrillLine(title, len(scores), max(scores, default=None))


def _median_s(sessions: Iterable[SessionTally]) -> float | None:
    measured = [seconds for each in sessions for _, seconds in each.answers]
    return median(measured) if measured else None


def _mean_score(sessions: Sequence[SessionTally]) -> float | None:
    calls = sum(each.calls for each in sessions)
    return sum(each.points for each in sessions) / calls if calls else None


def _is_slow(answer_s: float | None, usual_s: float | None) -> bool:
    if answer_s is None or usual_s is None:
        return False
    return answer_s >= max(SLOW_TIMES * usual_s, usual_s + SLOW_S)


def _elements(
    tries: Mapping[str, list[int]], faults: Mapping[FaultKey, list[int]], calls: int, missed: int
) -> tuple[ElementFigures, ...]:
    points: dict[str, int] = defaultdict(int)
    for (_, element, _), (_, lost) in faults.items():
        points[element] += lost
    found = [ElementFigures(name, count, right, points[name]) for name, (count, right) in tries.items()]
    if calls:
        found.append(ElementFigures(NOT_MADE, calls, calls - missed, points[NOT_MADE]))
    return _sorted_elements(found)


def _all_elements(students: Sequence[StudentFigures]) -> tuple[ElementFigures, ...]:
    sums: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for student in students:
        for each in student.elements:
            for place, value in enumerate((each.tries, each.right, each.points)):
                sums[each.element][place] += value
    return _sorted_elements(ElementFigures(name, *values) for name, values in sums.items())


def _sorted_elements(found: Iterable[ElementFigures]) -> tuple[ElementFigures, ...]:
    return tuple(sorted(found, key=lambda each: (-each.points, each.share or 0.0, each.element)))


def _all_faults(students: Sequence[StudentFigures]) -> tuple[Fault, ...]:
    together: dict[FaultKey, list[Any]] = defaultdict(lambda: [0, 0, []])
    for student in students:
        for fault in student.faults:
            of_key = together[fault.call, fault.element, fault.verdict]
            of_key[0] += fault.times
            of_key[1] += fault.points
            of_key[2].append(student.title)
    return _sorted_faults(
        Fault(*key, times, points, tuple(who)) for key, (times, points, who) in together.items()
    )


def _sorted_faults(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    return tuple(sorted(faults, key=lambda each: (-each.points, -each.times, each.title, each.element)))


def _times(sessions: Iterable[SessionTally]) -> tuple[CallTime, ...]:
    """Of each kind of call, the slowest first."""
    of_kind: dict[str, list[float]] = defaultdict(list)
    for session in sessions:
        for name, seconds in session.answers:
            of_kind[name].append(seconds)
    found = [CallTime(call_title(name), len(times), median(times)) for name, times in of_kind.items()]
    return tuple(sorted(found, key=lambda each: (-each.answer_s, each.title)))
