"""What the ears were not sure of: never held against the trainee, nor taken for granted where it matters."""

import pytest

from phraseology.assess import DOUBT, Verdict, assess
from phraseology.calls import expect
from phraseology.expected import Context
from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.readback import answer_to
from phraseology.replies import read_message

BREAKOUT = "SABLE 21, unable closed, breakout, report QUARRY"


def heard(text: str, doubtful: str = "", by: HeardBy = HeardBy.SITUATION) -> Heard:
    """The words, those in `doubtful` just below the mark."""
    words = (HeardWord(word, DOUBT - 0.01 if word in doubtful.split() else 0.99) for word in text.split())
    return Heard(tuple(words), by)


@pytest.mark.parametrize("figure", ["one", "two"])
def test_a_callsign_of_which_a_figure_is_doubtful_is_asked_for_again(context: Context, figure: str) -> None:
    said = heard(f"sable two {figure} request closed", doubtful=figure)
    assessment = assess(expect("request_closed", context), said)
    assert [judged.element for judged in assessment.unsure] == ["callsign"]
    assert not assessment.accepted
    assert assessment.score == 100


@pytest.mark.parametrize("point", ["report silo", "silo"])
def test_a_wrong_point_is_doubtful_in_whatever_words_it_came(context: Context, point: str) -> None:
    expected = answer_to(read_message(BREAKOUT, context.world), context)
    said = heard(f"sable two one breaking out {point}", doubtful="silo")
    assert [judged.element for judged in assess(expected, said).unsure] == ["report"]
    certain = assess(expected, heard(f"sable two one breaking out {point}"))
    assert [judged.verdict for judged in certain.faults] == [Verdict.WRONG]


def test_what_is_missing_counts_only_where_the_call_was_foreseen(context: Context) -> None:
    words = "sable two one touch and go"
    foreseen = assess(expect("gear_report", context), heard(words))
    assert [judged.element for judged in foreseen.critical] == ["gear"]
    pieced_together = assess(expect("gear_report", context), heard(words, by=HeardBy.LANGUAGE))
    assert [judged.element for judged in pieced_together.unsure] == ["gear"]


def test_a_typed_line_is_certain(context: Context) -> None:
    said = heard("sable one two request closed", doubtful="one two", by=HeardBy.TYPED)
    assert assess(expect("request_closed", context), said).critical


def test_doubt_in_a_word_that_does_not_matter_changes_nothing(context: Context) -> None:
    said = heard("corbel tower sable two one request closed", doubtful="corbel tower")
    assert assess(expect("request_closed", context), said).accepted


def test_a_name_that_only_sounds_like_ones_own_is_doubtful_by_ear_and_wrong_when_typed(
    context: Context,
) -> None:
    expected = expect("request_closed", context)
    by_ear = assess(expected, heard("table two one request closed"))
    assert [judged.element for judged in by_ear.unsure] == ["callsign"]
    assert not by_ear.accepted
    assert assess(expected, "table two one request closed").critical
    other_figures = assess(expected, heard("table two two request closed"))
    assert [judged.element for judged in other_figures.critical] == ["callsign"]


def test_certain_figures_settle_a_name_that_was_heard_half_clearly(context: Context) -> None:
    expected = expect("request_closed", context)
    assert assess(expected, heard("sable two one request closed", doubtful="sable")).accepted
    words = [HeardWord("sable", 0.4), *(HeardWord(word) for word in ["two", "one", "request", "closed"])]
    assert assess(expected, Heard(tuple(words), HeardBy.SITUATION)).unsure


def test_time_for_a_word_where_none_was_heard_makes_what_is_missing_doubtful(context: Context) -> None:
    expected = expect("gear_report", context)
    words = [("sable", 0.3), ("two", 0.7), ("one", 1.0), ("touch", 1.4), ("and", 1.7), ("go", 1.9)]
    close = Heard(tuple(HeardWord(w, 1.0, at, at + 0.25) for w, at in words), HeardBy.SITUATION)
    assert [judged.element for judged in assess(expected, close).critical] == ["gear"]
    hole = tuple(HeardWord(w, 1.0, at + (at > 1.2), at + (at > 1.2) + 0.25) for w, at in words)
    assert [judged.element for judged in assess(expected, Heard(hole, HeardBy.SITUATION)).unsure] == ["gear"]
