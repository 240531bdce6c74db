"""What comes out of a flight's calls: the best, the worst, and what to practise next."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from phraseology.assess import COST, Verdict
from trainer.debrief.account import shown
from trainer.debrief.debriefing import call_title
from trainer.session.events import CallMissed, TraineeSpoke

Call = TraineeSpoke | CallMissed
MISSED_COST = 100
TO_PRACTISE = 3


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
    costs: Counter[str] = Counter()
    times: Counter[str] = Counter()
    for call in calls:
        for what, cost in _costs(call):
            costs[what] += cost
            times[what] += 1
    practise = tuple(
        what + (f", {times[what]} times" if times[what] > 1 else "")
        for what, cost in costs.most_common(TO_PRACTISE)
        if cost
    )
    return Debriefing(
        best=None if alike else scores.index(max(scores)),
        worst=None if alike else scores.index(min(scores)),
        practise=practise,
    )


def _costs(call: Call) -> list[tuple[str, int]]:
    """What each fault of a call cost."""
    name = title_of(call).lower()
    if isinstance(call, CallMissed):
        return [(f"making the {name}", MISSED_COST)]
    faults = (fault for fault in call.assessment.faults if fault.verdict is not Verdict.UNSURE)
    return [(f"{shown(fault.element)} in the {name}", COST[fault.severity]) for fault in faults]
