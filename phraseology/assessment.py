"""The judgement of a call as one value: every figure and every line that anybody sees is a view of it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from phraseology.elements import Severity
from phraseology.standards import Rule


class Verdict(StrEnum):
    RIGHT = "right"
    WRONG = "wrong"
    MISSING = "missing"
    EXTRA = "extra"
    ORDER = "order"
    NONSTANDARD = "nonstandard"
    UNSURE = "unsure"


COST = {Severity.CRITICAL: 50, Severity.MAJOR: 25, Severity.MINOR: 5, Severity.NONE: 0}
"""Points of 100 that a verdict costs. Our own scale: two critical verdicts leave nothing."""


@dataclass(frozen=True)
class Judged:
    """One element. `expected` and `heard` are values as people write them, "" for none."""

    element: str
    expected: str
    heard: str
    verdict: Verdict
    severity: Severity
    rule: Rule

    def as_json(self) -> dict[str, str]:
        return {
            "element": self.element,
            "expected": self.expected,
            "heard": self.heard,
            "verdict": self.verdict.value,
            "severity": self.severity.value,
            "rule": str(self.rule),
        }


@dataclass(frozen=True)
class Assessment:
    """The result. `refused` is set where the pilot answered "unable", which is always his right."""

    call: str
    title: str
    heard: str
    model_call: str
    elements: tuple[Judged, ...]
    refused: bool = False

    @property
    def critical(self) -> tuple[Judged, ...]:
        return tuple(judged for judged in self.elements if judged.severity is Severity.CRITICAL)

    @property
    def unsure(self) -> tuple[Judged, ...]:
        return tuple(judged for judged in self.elements if judged.verdict is Verdict.UNSURE)

    @property
    def nothing_heard(self) -> bool:
        """Silence, where something had to be said."""
        return not self.heard and bool(self.faults)

    @property
    def accepted(self) -> bool:
        """The tower could act on it as it was meant: nothing critical, nothing major, nothing in doubt."""
        serious = (Severity.CRITICAL, Severity.MAJOR)
        return not self.unsure and all(judged.severity not in serious for judged in self.elements)

    @property
    def score(self) -> int:
        """0 to 100; 0 where nothing was heard. What was not heard for sure costs nothing."""
        lost = sum(COST[judged.severity] for judged in self.elements)
        return 0 if self.nothing_heard else max(0, 100 - lost)

    @property
    def faults(self) -> tuple[Judged, ...]:
        return tuple(judged for judged in self.elements if judged.verdict is not Verdict.RIGHT)

    def as_json(self) -> dict[str, Any]:
        """The published form of the command line's `--json`."""
        return {
            "call": self.call,
            "accepted": self.accepted,
            "score": self.score,
            "critical": [judged.element for judged in self.critical],
            "heard": self.heard,
            "model_call": self.model_call,
            "elements": [judged.as_json() for judged in self.elements],
        }
