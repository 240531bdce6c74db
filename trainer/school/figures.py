"""How a class does, as values: each sheet, page or file is a view of a `ClassFigures`.

`counting.py` makes them of the class's logbook and of what the instructor corrected.
"""

from dataclasses import asdict, dataclass
from typing import Any

from trainer.debrief.debriefing import call_title
from trainer.school.corrections import Correction

NOT_MADE = "making the call"
"""In the place of an element: a call that was missed costs all 100 points."""
TO_ANSWER = "time to answer"
"""In the place of an element for who is slow."""


@dataclass(frozen=True)
class ElementFigures:
    """One element over all calls. `tries` leave out what was not heard for sure; `points` are those lost."""

    element: str
    tries: int
    right: int
    points: int

    @property
    def share(self) -> float | None:
        """Right ones of all tries, 0 to 1; None without tries."""
        return self.right / self.tries if self.tries else None


@dataclass(frozen=True)
class Fault:
    """One way of going wrong: in this call or answer, as events name it, this element had this verdict."""

    call: str
    element: str
    verdict: str
    times: int
    points: int
    students: tuple[str, ...]

    @property
    def title(self) -> str:
        return call_title(self.call)


@dataclass(frozen=True)
class CallTime:
    """Median seconds from when a call was due, or the tower had finished, to the key; of `calls` measured."""

    title: str
    calls: int
    answer_s: float


@dataclass(frozen=True)
class SessionLine:
    """One session: `score` the mean of its calls, missed ones 0."""

    session: int
    started: str
    title: str
    assigned: bool
    calls: int
    accepted: int
    score: float
    answer_s: float | None
    corrected: int


@dataclass(frozen=True)
class DrillLine:
    """An assigned drill: how often it was flown, and the best session's score."""

    title: str
    flown: int
    best: float | None


@dataclass(frozen=True)
class StudentFigures:
    """One student. Elements and faults what cost most first; `trend` as the logbook's, in points."""

    key: str
    title: str
    sessions: tuple[SessionLine, ...]
    drills: tuple[DrillLine, ...]
    calls: int
    accepted: int
    missed: int
    score: float | None
    trend: float | None
    answer_s: float | None
    slow: bool
    elements: tuple[ElementFigures, ...]
    faults: tuple[Fault, ...]
    times: tuple[CallTime, ...]
    corrections: tuple[Correction, ...]

    @property
    def weaknesses(self) -> tuple[str, ...]:
        """What to work on, what cost most first. Slow answers stand before the calls not made that they
        lead to, else last."""
        lost = [each.element for each in self.elements if each.points]
        if self.slow:
            lost.insert(lost.index(NOT_MADE) if NOT_MADE in lost else len(lost), TO_ANSWER)
        return tuple(lost)

    def element(self, name: str) -> ElementFigures | None:
        return next((each for each in self.elements if each.element == name), None)


@dataclass(frozen=True)
class ClassFigures:
    """The class. `elements` and `faults` over all students, what cost most first."""

    name: str
    students: tuple[StudentFigures, ...]
    calls: int
    accepted: int
    score: float | None
    answer_s: float | None
    elements: tuple[ElementFigures, ...]
    faults: tuple[Fault, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain values, each student's with what to work on."""
        value = asdict(self)
        for student, plain in zip(self.students, value["students"], strict=True):
            plain["work_on"] = list(student.weaknesses)
            plain["corrections"] = [each.model_dump(mode="json") for each in student.corrections]
        return value
