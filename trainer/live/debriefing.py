"""What comes out of a flight's calls: the best, the worst, and what to practise next."""

from collections.abc import Sequence
from dataclasses import dataclass

from phraseology.assess import COST, Verdict
from trainer.debrief.account import shown
from trainer.debrief.debriefing import MISSED_COST, NOT_MADE, Weakness, call_title, dearest
from trainer.session.events import CallMissed, TraineeSpoke

Call = TraineeSpoke | CallMissed


@dataclass(frozen=True)
class Debriefing:
    """`best` and `worst` are places in the list of calls, None without any, or where all are alike.

    `practise`: what cost most, in words, the dearest first.
    """

    best: int | None
    worst: int | None
    practise: tuple[str, ...]


def title_of(call: Call) -> str:
    """Its name, that of an answer with the message that it answers."""
    return call_title(call.assessment.call if isinstance(call, TraineeSpoke) else call.call)


def score_of(call: Call) -> int:
    """0 to 100; a missed one 0."""
    return call.assessment.score if isinstance(call, TraineeSpoke) else 0


def debriefing(calls: Sequence[Call]) -> Debriefing:
    """Of a whole flight."""
    scores = [score_of(call) for call in calls]
    alike = len(set(scores)) < 2
    return Debriefing(
        best=None if alike else scores.index(max(scores)),
        worst=None if alike else scores.index(min(scores)),
        practise=tuple(map(_in_words, dearest(fault for call in calls for fault in _faults(call)))),
    )


def _faults(call: Call) -> list[tuple[str, str, int]]:
    """Each with its points, as `dearest` takes them."""
    title = title_of(call)
    if isinstance(call, CallMissed):
        return [(title, NOT_MADE, MISSED_COST)]
    faults = (fault for fault in call.assessment.faults if fault.verdict is not Verdict.UNSURE)
    return [(title, shown(fault.element), COST[fault.severity]) for fault in faults]


def _in_words(weak: Weakness) -> str:
    what = "making" if weak.element == NOT_MADE else f"{weak.element} in"
    return f"{what} the {weak.title.lower()}" + (f", {weak.times} times" if weak.times > 1 else "")
