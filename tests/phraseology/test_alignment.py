"""Alignments account for every word of both sides, at the least cost, and count as others count."""

import random
from collections import Counter
from collections.abc import Sequence

import jiwer
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phraseology.alignment import Op, Step, WordErrors, align, substitution_cost, word_errors
from phraseology.likeness import edit_costs

WORDS = (
    "sable table saber heron marten martin two to three tree one nine niner five initial final finals gear"
    " down touch and go roger wilco unable enable able inside in sight closed approved uh"
)
VOCABULARY = tuple(WORDS.split())
texts = st.lists(st.sampled_from(VOCABULARY), max_size=9)


def rebuilt(
    steps: Sequence[Step], expected: Sequence[str], heard: Sequence[str]
) -> tuple[list[str], list[str]]:
    """Both sides from the steps alone."""
    return (
        [expected[step.expected] for step in steps if step.op is not Op.INSERT],
        [heard[step.heard] for step in steps if step.op is not Op.DELETE],
    )


def price(steps: Sequence[Step], expected: Sequence[str], heard: Sequence[str], phonetic: bool) -> float:
    if not phonetic:
        return sum(step.op is not Op.EQUAL for step in steps)
    return sum(
        substitution_cost(expected[step.expected], heard[step.heard])
        if step.op in (Op.EQUAL, Op.SUBSTITUTE)
        else 1.0
        for step in steps
    )


def distance(a: Sequence[str], b: Sequence[str]) -> int:
    return word_errors(align(a, b)).errors


@pytest.mark.parametrize("phonetic", [False, True])
@given(texts, texts)
def test_every_word_of_both_sides_is_in_one_step(
    phonetic: bool, expected: list[str], heard: list[str]
) -> None:
    steps = align(expected, heard, phonetic=phonetic)
    assert rebuilt(steps, expected, heard) == (expected, heard)
    i = j = 0
    for step in steps:
        assert (step.expected, step.heard) == (i, j)
        if step.op in (Op.EQUAL, Op.SUBSTITUTE):
            assert (expected[i] == heard[j]) == (step.op is Op.EQUAL)
        i += step.op is not Op.INSERT
        j += step.op is not Op.DELETE
    assert (i, j) == (len(expected), len(heard))


@given(texts, texts)
def test_no_way_is_cheaper(expected: list[str], heard: list[str]) -> None:
    """rapidfuzz against the table written out here; and by sound never dearer than by spelling."""
    by_table = edit_costs(expected, heard, lambda _: 1.0, lambda a, b: float(a != b))[-1][-1]
    assert distance(expected, heard) == by_table
    by_sound = price(align(expected, heard, phonetic=True), expected, heard, phonetic=True)
    assert by_sound == pytest.approx(edit_costs(expected, heard, lambda _: 1.0, substitution_cost)[-1][-1])
    assert by_sound <= price(align(expected, heard), expected, heard, phonetic=True) + 1e-9


@given(texts, texts, texts)
def test_word_errors_are_a_distance(a: list[str], b: list[str], c: list[str]) -> None:
    assert distance(a, b) == distance(b, a)
    assert (distance(a, b) == 0) == (a == b)
    assert distance(a, c) <= distance(a, b) + distance(b, c)
    assert abs(len(a) - len(b)) <= distance(a, b) <= max(len(a), len(b))


@given(texts, texts)
def test_by_sound_the_price_is_the_same_backwards(expected: list[str], heard: list[str]) -> None:
    there = align(expected, heard, phonetic=True)
    back = align(expected[::-1], heard[::-1], phonetic=True)
    assert price(there, expected, heard, True) == pytest.approx(
        price(back, expected[::-1], heard[::-1], True)
    )


def spoilt(words: list[str], rng: random.Random) -> list[str]:
    """What a recogniser might make of it: words lost, put in and exchanged."""
    heard: list[str] = []
    for word in words:
        match rng.random():
            case chance if chance < 0.12:
                continue
            case chance if chance < 0.24:
                heard.append(rng.choice(VOCABULARY))
            case chance if chance < 0.36:
                heard += [rng.choice(VOCABULARY), word]
            case _:
                heard.append(word)
    return heard


def test_counts_are_those_of_jiwer() -> None:
    """jiwer (4.0) is the outside reference. It too has its edits from rapidfuzz, so ties, of which word was
    lost and which exchanged, fall the same way and all four counts agree; that the errors are the fewest at
    all is held by `test_no_way_is_cheaper`, which does not use rapidfuzz."""
    rng = random.Random(20)
    pairs: list[tuple[list[str], list[str]]] = []
    for number in range(10_000):
        expected = rng.choices(VOCABULARY, k=rng.randint(1, 14))
        heard = spoilt(expected, rng) if number % 2 else rng.choices(VOCABULARY, k=rng.randint(0, 14))
        pairs.append((expected, heard))
    measured = jiwer.process_words([" ".join(e) for e, _ in pairs], [" ".join(h) for _, h in pairs])
    ours = [word_errors(align(expected, heard)) for expected, heard in pairs]
    for counts, chunks in zip(ours, measured.alignments, strict=True):
        theirs: Counter[str] = Counter()
        for chunk in chunks:
            length = max(chunk.ref_end_idx - chunk.ref_start_idx, chunk.hyp_end_idx - chunk.hyp_start_idx)
            theirs[chunk.type] += length
        assert counts == (theirs["equal"], theirs["substitute"], theirs["delete"], theirs["insert"])
    totals = WordErrors(*(sum(column) for column in zip(*ours, strict=True)))
    assert totals == (measured.hits, measured.substitutions, measured.deletions, measured.insertions)
    assert min(totals) > 1_000


def pairs_of(expected: str, heard: str) -> set[tuple[str, str]]:
    a, b = expected.split(), heard.split()
    return {
        (a[step.expected], b[step.heard])
        for step in align(a, b, phonetic=True)
        if step.op in (Op.EQUAL, Op.SUBSTITUTE)
    }


@pytest.mark.parametrize(
    ("expected", "heard", "pair"),
    [
        ("sable two one", "uh table two one", ("sable", "table")),
        ("sable two one", "table uh two one", ("sable", "table")),
        ("heron unable closed", "heron roger enable closed", ("unable", "enable")),
        ("heron unable closed", "heron enable roger closed", ("unable", "enable")),
        ("two one initial", "to two one initial", ("two", "two")),
        ("marten gear down", "martin gear", ("marten", "martin")),
    ],
)
def test_a_sound_alike_pairs_with_its_partner(expected: str, heard: str, pair: tuple[str, str]) -> None:
    assert pair in pairs_of(expected, heard)


def test_by_spelling_there_is_nothing_to_choose_a_partner_by() -> None:
    steps = align(["sable", "two"], ["table", "uh", "two"])
    assert word_errors(steps) == (1, 1, 0, 1)


@pytest.mark.parametrize("phonetic", [False, True])
def test_nothing_expected_and_nothing_heard(phonetic: bool) -> None:
    assert align([], [], phonetic=phonetic) == ()
    assert align(["roger", "roger"], [], phonetic=phonetic) == (Step(Op.DELETE, 0, 0), Step(Op.DELETE, 1, 0))
    assert align([], ["uh", "um"], phonetic=phonetic) == (Step(Op.INSERT, 0, 0), Step(Op.INSERT, 0, 1))
    assert word_errors(()) == (0, 0, 0, 0)


def test_where_a_lost_word_would_stand() -> None:
    expected, heard = ["sable", "two", "one", "initial"], ["sable", "two", "initial"]
    assert align(expected, heard)[2] == Step(Op.DELETE, 2, 2)
    assert align(heard, expected)[2] == Step(Op.INSERT, 2, 2)
