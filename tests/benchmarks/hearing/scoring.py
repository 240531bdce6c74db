"""One result an utterance and engine, and every figure of the report as a view of the results."""

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from conditions import Condition
from corpus import CALLSIGNS, POINTS, Family, Item
from engines import Hearing
from rapidfuzz.distance import Levenshtein

from phraseology import doubt
from phraseology.assess import assess
from phraseology.elements import Kind
from phraseology.heard import HeardBy
from phraseology.parse import parse
from phraseology.phrases import HESITATIONS

ACCEPTED, ASKED, MARKED, NOTHING = "accepted", "asked again", "marked wrong", "nothing heard"

WRONG_ACCEPTED, RIGHT_MARKED = 10.0, 3.0
"""Costs beside that of a right call asked again, which is 1."""
SHARE_WRONG = 0.25
"""Of a learner's calls, so many are taken to be wrong."""

_DELIVERY = frozenset({Kind.HESITATION, Kind.BREVITY})


_ALIKE = {"to": "two", "too": "two", "for": "four", **dict.fromkeys(HESITATIONS, "uh")}
"""Words that the ear alone cannot tell apart, or that mean the same."""


def alike(words: Sequence[str]) -> tuple[str, ...]:
    return tuple(_ALIKE.get(word, word) for word in words)


@dataclass(frozen=True)
class Result:
    """What an engine made of one utterance. `brackets`: how many transmissions the end-of-speech detector did.

    `elements`: each kind said and whether it was heard with its value; `confidences`: each element heard, and
    whether it was said; `errors`: words inserted, deleted and replaced.
    """

    engine: str
    item: Item
    speaker: str
    rate: float
    where: Condition
    seconds: float
    brackets: int
    hearing: Hearing
    elements: tuple[tuple[str, bool], ...] = ()
    confidences: tuple[tuple[float, bool], ...] = ()
    outcome: str = NOTHING
    errors: int = 0

    @property
    def heard_words(self) -> tuple[str, ...]:
        return tuple(word.text for word in self.hearing.heard.words)

    @property
    def exact(self) -> bool:
        return alike(self.heard_words) == alike(self.item.words)


def judged(item: Item, hearing: Hearing) -> str:
    """What would come of it: accepted, asked again, marked wrong, or nothing heard."""
    if not hearing.heard.words or item.expected is None:
        return NOTHING
    assessment = assess(item.expected, hearing.heard)
    if assessment.accepted:
        return ACCEPTED
    return ASKED if assessment.unsure else MARKED


def scored(result: Result) -> Result:
    """The result with its elements, confidences and errors counted."""
    item, heard = result.item, result.hearing.heard
    errors = Levenshtein.distance(alike(item.words), alike(result.heard_words))
    if item.expected is None:
        return replace(result, errors=errors)
    world = item.expected.context.world
    said = Counter((e.kind, e.value, e.negated) for e in parse(" ".join(item.words), world).elements)
    found = parse(heard, world).elements
    left = Counter((e.kind, e.value, e.negated) for e in found)
    elements = []
    for (kind, value, negated), count in said.items():
        right = min(count, left[kind, value, negated])
        if kind not in _DELIVERY:
            elements += [(kind.value, True)] * right + [(kind.value, False)] * (count - right)
    confidences = [
        (e.confidence, (e.kind, e.value, e.negated) in said) for e in found if e.kind not in _DELIVERY
    ]
    return replace(
        result,
        errors=errors,
        elements=tuple(elements),
        confidences=tuple(confidences),
        outcome=judged(item, result.hearing),
    )


# -- figures -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Share:
    """So many of so many; the interval is Wilson's, for 95 %."""

    hits: int
    of: int

    @property
    def value(self) -> float:
        return self.hits / self.of if self.of else math.nan

    @property
    def interval(self) -> tuple[float, float]:
        if not self.of:
            return math.nan, math.nan
        z, n, p = 1.96, self.of, self.value
        middle = (p + z * z / (2 * n)) / (1 + z * z / n)
        half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
        return max(0.0, middle - half), min(1.0, middle + half)

    def __str__(self) -> str:
        return f"{100 * self.value:.1f} ({self.hits}/{self.of})" if self.of else "–"


def share(results: Iterable[Result], hit: Callable[[Result], bool]) -> Share:
    flags = [hit(result) for result in results]
    return Share(sum(flags), len(flags))


def percentile(values: Sequence[float], part: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, round(part * (len(ordered) - 1)))] if ordered else math.nan


CALLS_OF = (Family.CALL, Family.ANSWER, Family.NEW_NAME)
PERSONS = (Family.DIGITS, Family.WORDS)
STRANGE = (Family.TALK, Family.SOUND)


def figures(results: Sequence[Result]) -> dict[str, Any]:
    """The figures of one engine, or of a part of its results."""
    calls = [r for r in results if r.item.family in CALLS_OF]
    right = [r for r in calls if r.item.right]
    wrong = [r for r in calls if not r.item.right]
    strange = [r for r in results if r.item.family in STRANGE]
    others = [r for r in results if r.item.family is Family.OTHERS]
    spoken = [r for r in results if r.item.words and r.item.family not in PERSONS]
    worked = [r for r in results if r.hearing.busy_s]
    elements = [flag for r in [*calls, *others] for _, flag in r.elements]
    return {
        "word errors": Share(sum(r.errors for r in spoken), sum(len(r.item.words) for r in spoken)),
        "calls exact": share(calls, lambda r: r.exact),
        "elements right": Share(sum(elements), len(elements)),
        "wrong accepted": share(wrong, lambda r: r.outcome == ACCEPTED),
        "right marked wrong": share(right, lambda r: r.outcome == MARKED),
        "right asked again": share(right, lambda r: r.outcome in (ASKED, NOTHING)),
        "right accepted": share(right, lambda r: r.outcome == ACCEPTED),
        "others' calls accepted": share(others, lambda r: r.outcome == ACCEPTED),
        "nonsense accepted": share(strange, lambda r: r.outcome == ACCEPTED),
        "nonsense taken for a call": share(strange, lambda r: r.hearing.heard.by is HeardBy.SITUATION),
        "nonsense: no word": share(strange, lambda r: not r.heard_words),
        "new names found": new_names(results),
        "person: digits right": words_right(results, Family.DIGITS),
        "person: words right": words_right(results, Family.WORDS),
        "cut in two": share([r for r in spoken if r.brackets], lambda r: r.brackets > 1),
        "not noticed": share(spoken, lambda r: r.brackets == 0),
        "after, median ms": 1000 * percentile([r.hearing.after_s for r in worked], 0.5),
        "after, p95 ms": 1000 * percentile([r.hearing.after_s for r in worked], 0.95),
        "real-time factor": sum(r.hearing.busy_s for r in worked)
        / (sum(r.seconds for r in worked) or math.nan),
        "situation, median ms": 1000 * percentile([r.hearing.prepare_s for r in worked], 0.5),
        "situation, p95 ms": 1000 * percentile([r.hearing.prepare_s for r in worked], 0.95),
    }


def new_names(results: Iterable[Result]) -> Share:
    """How many of the callsign words and points said that nobody trained on were found."""
    names = {*CALLSIGNS, *POINTS}
    said = [(word, r.heard_words) for r in results for word in r.item.words if word in names]
    return Share(sum(word in heard for word, heard in said), len(said))


def words_right(results: Iterable[Result], family: Family) -> Share:
    theirs = [r for r in results if r.item.family is family]
    total = sum(len(r.item.words) for r in theirs)
    return Share(total - sum(min(r.errors, len(r.item.words)) for r in theirs), total)


def by_kind(results: Iterable[Result]) -> dict[str, Share]:
    counts: dict[str, list[bool]] = defaultdict(list)
    for result in results:
        for kind, flag in result.elements:
            counts[kind].append(flag)
    return {
        kind: Share(sum(flags), len(flags))
        for kind, flags in sorted(counts.items(), key=lambda p: -len(p[1]))
    }


BINS = (0.0, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99, 0.999, 1.0001)


def reliability(results: Iterable[Result]) -> list[tuple[float, float, float, Share]]:
    """Of calls and answers, for each bin of confidence: its edges, the mean in it, how many elements were right."""
    pairs = [pair for result in results if result.item.family in CALLS_OF for pair in result.confidences]
    rows = []
    for low, high in pairwise(BINS):
        inside = [(confidence, right) for confidence, right in pairs if low <= confidence < high]
        if inside:
            mean = sum(confidence for confidence, _ in inside) / len(inside)
            rows.append((low, high, mean, Share(sum(right for _, right in inside), len(inside))))
    return rows


def confusions(results: Iterable[Result], count: int) -> list[tuple[str, str, int]]:
    """The commonest words heard for others, "" for none."""
    pairs: Counter[tuple[str, str]] = Counter()
    for result in results:
        said, heard = alike(result.item.words), alike(result.heard_words)
        for step in Levenshtein.editops(said, heard):
            one = said[step.src_pos] if step.tag != "insert" else ""
            pairs[one, heard[step.dest_pos] if step.tag != "delete" else ""] += 1
    return [(said, heard, n) for (said, heard), n in pairs.most_common(count)]


# -- the threshold of doubt --------------------------------------------------------------------------------

DOUBTS = (0.0, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98, 0.99, 0.995, 0.999)
NAME_DOUBTS = (0.3, 0.5, 0.7, 0.9)


@dataclass(frozen=True)
class Trade:
    """What a pair of thresholds gives. `cost` is for 100 calls, a share of `SHARE_WRONG` of which are wrong."""

    doubt: float
    name_doubt: float
    wrong_accepted: Share
    right_marked: Share
    right_asked: Share
    cost: float = field(init=False)

    def __post_init__(self) -> None:
        wrong = WRONG_ACCEPTED * self.wrong_accepted.value
        right = RIGHT_MARKED * self.right_marked.value + self.right_asked.value
        object.__setattr__(self, "cost", 100 * (SHARE_WRONG * wrong + (1 - SHARE_WRONG) * right))


@contextmanager
def thresholds(doubted: float, name_doubted: float) -> Iterator[None]:
    """The judge with other thresholds than its own."""
    before = doubt.DOUBT, doubt.NAME_DOUBT
    doubt.DOUBT, doubt.NAME_DOUBT = doubted, name_doubted
    try:
        yield
    finally:
        doubt.DOUBT, doubt.NAME_DOUBT = before


def trade(results: Sequence[Result], doubted: float, name_doubted: float) -> Trade:
    with thresholds(doubted, name_doubted):
        outcomes = [(r.item.right, judged(r.item, r.hearing)) for r in results]
    right = [outcome for was_right, outcome in outcomes if was_right]
    wrong = [outcome for was_right, outcome in outcomes if not was_right]
    return Trade(
        doubted,
        name_doubted,
        Share(wrong.count(ACCEPTED), len(wrong)),
        Share(right.count(MARKED), len(right)),
        Share(right.count(ASKED) + right.count(NOTHING), len(right)),
    )


def trades(results: Sequence[Result]) -> tuple[list[Trade], list[Trade]]:
    """For every pair of thresholds, on one half of the calls and, in the same order, on the other."""
    calls = [r for r in results if r.item.family in CALLS_OF]
    halves = calls[::2], calls[1::2]
    pairs = [(d, n) for d in DOUBTS for n in NAME_DOUBTS if n <= max(d, NAME_DOUBTS[0])]
    tuned, tested = ([trade(half, *pair) for pair in pairs] for half in halves)
    return tuned, tested
