"""The measures that were aimed at, engine beside engine: each a row of its own, with what was hoped for."""

from collections.abc import Callable, Sequence

import scoring
from corpus import Family, Item
from engines import listening_for
from scoring import Result, Share

from phraseology.heard import HeardBy

_ASKED = (scoring.ASKED, scoring.NOTHING)
_Measure = Callable[[Sequence[Result]], object]


_known: dict[tuple[str, str, str], bool] = {}


def in_graph(item: Item) -> bool:
    """Whether the very words are a path of the situation: a right call, a wrong one in some element, an answer."""
    if item.expected is None or item.family not in scoring.CALLS_OF:
        return False
    key = item.said, item.expected.model_call, item.expected.context.standard.name
    if key not in _known:
        _known[key] = listening_for(item).accepts(item.words)
    return _known[key]


def _at(results: Sequence[Result], *ratios: int | None) -> list[Result]:
    return [r for r in results if r.where.snr_db in ratios]


def _calls(results: Sequence[Result]) -> list[Result]:
    return [r for r in results if r.item.family in scoring.CALLS_OF]


def _exact(*ratios: int | None) -> _Measure:
    return lambda results: scoring.share(
        [r for r in _calls(_at(results, *ratios)) if in_graph(r.item)], lambda r: r.exact
    )


def _wrong_words(*ratios: int | None) -> _Measure:
    def measure(results: Sequence[Result]) -> Share:
        calls = [r for r in _calls(_at(results, *ratios)) if in_graph(r.item)]
        return Share(sum(r.errors for r in calls), sum(len(r.item.words) for r in calls))

    return measure


def _outcome(right: bool, outcomes: Sequence[str], *ratios: int | None) -> _Measure:
    return lambda results: scoring.share(
        [r for r in _calls(_at(results, *ratios)) if r.item.right is right], lambda r: r.outcome in outcomes
    )


def _not_ours(*ratios: int | None) -> _Measure:
    """Others' calls are not accepted; nonsense is not taken for a call, or is asked again."""

    def left(result: Result) -> bool:
        if result.item.family is Family.OTHERS:
            return result.outcome != scoring.ACCEPTED
        return result.outcome in _ASKED or result.hearing.heard.by is not HeardBy.SITUATION

    return lambda results: scoring.share(
        [r for r in _at(results, *ratios) if r.item.family in (*scoring.STRANGE, Family.OTHERS)], left
    )


def _person(family: Family, *ratios: int | None) -> _Measure:
    return lambda results: scoring.words_right(_at(results, *ratios), family)


def _after(part: float) -> _Measure:
    return lambda results: (
        1000 * scoring.percentile([r.hearing.after_s for r in results if r.hearing.busy_s], part)
    )


_ANY = (None, 20, 15, 10, 5)
MEASURES: tuple[tuple[str, str, _Measure], ...] = (
    ("texts of the situation: word errors, clean", "0.8", _wrong_words(None)),
    ("at 15 dB", "3", _wrong_words(15)),
    ("at 5 dB", "12", _wrong_words(5)),
    ("texts of the situation: exact, clean", "99", _exact(None)),
    ("at 15 dB", "97", _exact(15)),
    ("at 5 dB", "85", _exact(5)),
    ("wrong calls accepted, clean", "0.3", _outcome(False, (scoring.ACCEPTED,), None)),
    ("at 15 dB", "0.5", _outcome(False, (scoring.ACCEPTED,), 15)),
    ("right calls marked wrong, clean", "0.5", _outcome(True, (scoring.MARKED,), None)),
    ("right calls asked again, clean", "2", _outcome(True, _ASKED, None)),
    ("nonsense, chatter, others: rejected or asked again", "99", _not_ours(*_ANY)),
    ("at 10 dB", "99", _not_ours(10)),
    ("a person's digits, words right", "98.5", _person(Family.DIGITS, *_ANY)),
    ("a person's digits, clean", "", _person(Family.DIGITS, None)),
    ("studio speaker's words, clean", "99.7", _person(Family.WORDS, None)),
    ("studio speaker's words, 10 dB", "95", _person(Family.WORDS, 10)),
    ("names never trained on, found", "97", scoring.new_names),
    ("after the end, median ms", "40", _after(0.5)),
    ("after the end, p95 ms", "100", _after(0.95)),
)


def rows(engines: dict[str, list[Result]]) -> list[list[object]]:
    """A row for each measure: its name, what was aimed at, then each engine's figure."""
    return [
        [name, aim, *(measure(results) for results in engines.values())] for name, aim, measure in MEASURES
    ]
