"""What may follow the words so far, by the prices of small automata and of the real situations."""

from functools import partial

import pytest

from phraseology.calls import TOWER_CALLS, expect
from phraseology.situation import situation
from phraseology.wordgraph import Choice, Many, Maybe, Say, Seq, WordAutomaton, automaton
from trainer.ears.completeness import FOLLOWS, LACKS, Ending, Endings, ending
from trainer.judging import Question, expected_of

CALL = automaton(
    Choice(
        (
            Seq((Say.of("sable two one"), Maybe(Say.of("request closed"), skip=3.0))),
            Seq((Say.of("sable two one three mile initial"), Maybe(Say.of("touch and go"), take=1.5))),
            Many(
                Choice(tuple(Say.of(t) for t in ("sable two one", "request closed", "touch and go"))),
                again=2.0,
            ),
        ),
        (0.0, 0.0, 4.0),
    )
)


@pytest.mark.parametrize(
    ("words", "stands"),
    [
        ("", Ending.OPEN),
        ("sable", Ending.MIDDLE),
        ("sable two", Ending.MIDDLE),
        ("sable two one", Ending.MIDDLE),  # the request is still to come
        ("sable two one request", Ending.MIDDLE),
        ("sable two one request closed", Ending.COMPLETE),
        ("sable two one three mile", Ending.MIDDLE),
        ("sable two one three mile initial", Ending.OPEN),  # an intention may follow
        ("sable two one three mile initial touch and", Ending.MIDDLE),
        ("sable two one three mile initial touch and go", Ending.COMPLETE),
        ("touch and go request closed", Ending.OPEN),  # only the loose loop says so
        ("sable two one good morning", Ending.OPEN),
        ("good morning sable two one request closed", Ending.OPEN),
    ],
)
def test_how_words_stand(words: str, stands: Ending) -> None:
    assert ending(CALL, words.split()) is stands


def test_one_reader_gives_the_same_in_any_order_of_questions() -> None:
    texts = [
        t.split()
        for t in ("sable two one request closed", "sable two one", "sable three", "sable two one request")
    ]
    reader = Endings(CALL)
    for _ in range(2):
        for words in texts:
            assert reader.after(words) is ending(CALL, words)


@pytest.mark.parametrize(("take", "stands"), [(FOLLOWS - 0.1, Ending.OPEN), (FOLLOWS + 0.1, Ending.COMPLETE)])
def test_what_is_dear_does_not_follow(take: float, stands: Ending) -> None:
    here = automaton(Seq((Say.of("roger"), Maybe(Say.of("sable"), take=take))))
    assert ending(here, ["roger"]) is stands


@pytest.mark.parametrize(("skip", "stands"), [(LACKS - 0.1, Ending.OPEN), (LACKS + 0.1, Ending.MIDDLE)])
def test_what_is_dear_to_leave_out_is_still_to_come(skip: float, stands: Ending) -> None:
    here = automaton(Seq((Say.of("roger"), Maybe(Say.of("sable"), skip=skip))))
    assert ending(here, ["roger"]) is stands


def test_a_dead_end_and_an_empty_automaton_are_open() -> None:
    assert ending(WordAutomaton(2, 1, ()), ["roger"]) is Ending.OPEN


HERE = partial(
    Question, field="corbel", runway="31", callsign="SABLE 21", intention="touch_and_go", point="QUARRY",
    distance_nm=3, atis="alfa", where="10 west", altitude_ft=3500,
)  # fmt: skip


def real(question: Question) -> WordAutomaton:
    expected = expected_of(question)
    return situation([expected], [expect(c, expected.context) for c in TOWER_CALLS if c != expected.name])


def stretches(here: WordAutomaton, call: str) -> dict[str, Ending]:
    """How the call stands after each of its words."""
    words = call.split()
    reader = Endings(here)
    return {" ".join(words[:n]): reader.after(words[:n]) for n in range(1, len(words) + 1)}


@pytest.mark.parametrize(
    ("message", "answer"),
    [
        ("SABLE 21, closed approved", "sable two one closed approved"),
        ("SABLE 21, runway 31, wind calm, cleared touch and go", "sable two one runway three one cleared touch and go"),
        ("SABLE 21, unable closed, breakout, report QUARRY", "sable two one breaking out report quarry"),
    ],
)  # fmt: skip
def test_a_whole_read_back_is_complete_and_no_beginning_of_it(message: str, answer: str) -> None:
    *beginnings, whole = stretches(real(HERE(after=message)), answer).values()
    assert whole is Ending.COMPLETE
    assert Ending.COMPLETE not in beginnings


def test_in_the_middle_of_an_element_there_is_more_to_come() -> None:
    stands = stretches(real(HERE(call="gear_report")), "sable two one gear down touch and go")
    for beginning in (
        "sable two",
        "sable two one",
        "sable two one gear down",
        "sable two one gear down touch and",
    ):
        assert stands[beginning] is Ending.MIDDLE, beginning


def test_an_intention_may_follow_initial() -> None:
    stands = stretches(real(HERE(call="initial")), "sable two one three mile initial")
    assert stands["sable two one three mile initial"] is Ending.OPEN
