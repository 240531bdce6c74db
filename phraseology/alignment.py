"""Which heard word stands for which expected one: the cheapest way from the one sequence to the other."""

from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import NamedTuple

from rapidfuzz.distance import Levenshtein

from phraseology.likeness import ALIKE, edit_costs, likeness

_SAME_SOUND = 0.01
"""Another word of the same sound ("to" for "two") is all but free, and still worse than the word itself."""


class Op(StrEnum):
    """What became of a word."""

    EQUAL = "equal"
    SUBSTITUTE = "substitute"
    DELETE = "delete"
    INSERT = "insert"


class Step(NamedTuple):
    """One word of the way: indices into the two sequences.

    DELETE: the expected word was not heard; `heard` is where it would stand. INSERT: the heard word was not
    expected; `expected` is the index before which it was put in. Both may be the length of their sequence.
    """

    op: Op
    expected: int
    heard: int


class WordErrors(NamedTuple):
    """The counts of an alignment. Expected words are hits, substitutions and deletions together."""

    hits: int
    substitutions: int
    deletions: int
    insertions: int

    @property
    def errors(self) -> int:
        return self.substitutions + self.deletions + self.insertions


def align(expected: Sequence[str], heard: Sequence[str], *, phonetic: bool = False) -> tuple[Step, ...]:
    """The steps from `expected` to `heard` in order; every word of both sides is in exactly one of them.

    Words are the same if they are spelled the same. Every step but EQUAL costs 1, and the sum is the least
    there is. With `phonetic` a word that may be heard for the expected one (likeness `ALIKE` or more) costs
    1 less its likeness, so that "table" after a stray word still pairs with "sable"; unlike words cost 1 as
    before. Of equally cheap ways one is chosen, the same every time.
    """
    return _by_sound(expected, heard) if phonetic else _by_spelling(expected, heard)


def word_errors(steps: Iterable[Step]) -> WordErrors:
    """How many words of an alignment were hit, substituted, deleted and inserted."""
    ops = [step.op for step in steps]
    return WordErrors(*(ops.count(op) for op in (Op.EQUAL, Op.SUBSTITUTE, Op.DELETE, Op.INSERT)))


def _by_spelling(expected: Sequence[str], heard: Sequence[str]) -> tuple[Step, ...]:
    steps: list[Step] = []
    for run in Levenshtein.opcodes(expected, heard):
        op = Op.SUBSTITUTE if run.tag == "replace" else Op(run.tag)
        # Equal and replaced runs are of one length; in a deletion or an insertion one side stands still.
        for k in range(max(run.src_end - run.src_start, run.dest_end - run.dest_start)):
            steps.append(Step(op, min(run.src_start + k, run.src_end), min(run.dest_start + k, run.dest_end)))
    return tuple(steps)


def _by_sound(expected: Sequence[str], heard: Sequence[str]) -> tuple[Step, ...]:
    costs = edit_costs(expected, heard, _gap, substitution_cost)
    i, j, steps = len(expected), len(heard), list[Step]()
    while i or j:
        here = costs[i][j]
        if i and j and here == costs[i - 1][j - 1] + substitution_cost(expected[i - 1], heard[j - 1]):
            i, j = i - 1, j - 1
            steps.append(Step(Op.EQUAL if expected[i] == heard[j] else Op.SUBSTITUTE, i, j))
        elif i and here == costs[i - 1][j] + _gap(expected[i - 1]):
            i -= 1
            steps.append(Step(Op.DELETE, i, j))
        else:
            j -= 1
            steps.append(Step(Op.INSERT, i, j))
    return tuple(reversed(steps))


def _gap(word: str) -> float:
    return 1.0


def substitution_cost(expected: str, heard: str) -> float:
    """What the phonetic alignment takes for one word in the place of another: 0 for the same, at most 1."""
    if expected == heard:
        return 0.0
    alike = likeness(expected, heard)
    return max(1.0 - alike, _SAME_SOUND) if alike >= ALIKE else 1.0
