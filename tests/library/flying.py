"""A drill of the library flown by the synthetic trainee, and the table of what its wrong answers lose.

`python -m tests.library.flying` flies them all and writes `table.md` beside this file.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from drills.check import drill_names, load_drill, load_field
from phraseology.assess import COST, assess
from phraseology.expected import Expected
from tests.library.wrong_answers import WRONG_ANSWERS, WrongAnswer, costs
from trainer.rehearsal import Rehearsal, rehearse
from trainer.session.session import Session

TABLE = Path(__file__).with_name("table.md")
_HEAD = """# What the library's drills lose by typical wrong answers

Written by `python -m tests.library.flying`, held by `test_library_flown.py`. Flown by the book every drill scores 100.
At each prompt of that flight each wrong answer that can be made of it is judged: it must lose what
`wrong_answers.py` says, no more and no less.

| drill | minutes | calls | wrong answers judged | points lost by them |
|---|---|---|---|---|
"""

_COSTS = """
What each of them loses, written down by hand in `wrong_answers.py`, from 100 points a call:

| wrong answer | element | points |
|---|---|---|"""


@dataclass
class Judge:
    """Says the model call, and judges beside it what would have been wrong."""

    judged: int = 0
    points: int = 0
    disagreements: list[str] = field(default_factory=list)

    def __call__(self, session: Session, prompt: Expected) -> str:
        for wrong in WRONG_ANSWERS:
            words = wrong.words(prompt)
            if words is not None:
                self._hold(wrong, words, prompt)
        return prompt.model_call

    def _hold(self, wrong: WrongAnswer, words: str, prompt: Expected) -> None:
        should = dict(wrong.faults(prompt))
        assessment = assess(prompt, words)
        lost: dict[str, int] = {}
        for fault in assessment.faults:
            lost[fault.element] = lost.get(fault.element, 0) + COST[fault.severity]
        self.judged += 1
        self.points += 100 - assessment.score
        if lost != should or assessment.score != max(0, 100 - sum(should.values())):
            self.disagreements.append(f"{wrong.name}, {prompt.name}, {words!r}: {lost}, not {should}")


@dataclass
class OneWrong:
    """By the book, but for the first prompt at which this wrong answer can be given."""

    wrong: WrongAnswer
    given: str = ""
    points: int = 0

    def __call__(self, session: Session, prompt: Expected) -> str:
        words = None if self.given else self.wrong.words(prompt)
        if words is None:
            return prompt.model_call
        self.given, self.points = prompt.name, sum(self.wrong.faults(prompt).values())
        return words


def flown(name: str) -> tuple[Rehearsal, Judge]:
    drill, judge = load_drill(name), Judge()
    return rehearse(drill, load_field(drill.field), saying=judge), judge


def row(name: str, rehearsal: Rehearsal, judge: Judge) -> str:
    """The drill's line of the table."""
    ended = rehearsal.ended
    return f"| {name} | {ended.at / 60:.0f} | {ended.calls} | {judge.judged} | {judge.points} |"


def lines() -> Iterator[str]:
    for name in drill_names():
        yield row(name, *flown(name))


if __name__ == "__main__":
    TABLE.write_text("\n".join([_HEAD + "\n".join(lines()), _COSTS, *costs(), ""]), encoding="utf-8")
