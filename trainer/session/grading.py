"""Whether a drill was passed: its mark, no critical fault, no more minor ones than it tolerates. Pure."""

from dataclasses import dataclass

from phraseology.assess import Assessment
from phraseology.elements import Severity


@dataclass(frozen=True)
class Marks:
    """What a drill asks: a score of 100, and how many minor faults it lets pass."""

    pass_mark: int
    tolerated_minors: int


class Grading:
    """Counts the faults of a session."""

    def __init__(self, marks: Marks | None) -> None:
        self._marks = marks
        self.minors = 0
        self.criticals = 0

    def add(self, assessment: Assessment) -> None:
        self.minors += sum(judged.severity is Severity.MINOR for judged in assessment.elements)
        self.criticals += len(assessment.critical)

    def verdict(self, score: float, *, in_order: bool) -> tuple[bool | None, str]:
        """Passed or not, and the sentence that says why; None and "" where nothing is asked."""
        if self._marks is None:
            return None, ""
        against = []
        if not in_order:
            against.append("it was not flown to its end")
        if self.criticals:
            against.append(f"{self.criticals} critical fault{'s' * (self.criticals > 1)}")
        if score < self._marks.pass_mark:
            against.append(f"score {score:.0f}, the pass mark is {self._marks.pass_mark}")
        if self.minors > self._marks.tolerated_minors:
            against.append(f"{self.minors} minor faults, {self._marks.tolerated_minors} are tolerated")
        return (False, f"not passed: {'; '.join(against)}") if against else (True, "passed")
