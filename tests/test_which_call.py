"""Which call it was, where nobody says what was due: found by name among all calls and answers."""

import pytest

from phraseology.heard import Heard
from phraseology.standards import STANDARDS
from trainer.commands.question import Question
from trainer.judging import context_of, expected_of
from trainer.which_call import ACKNOWLEDGEMENT, calls_of, which_call

HERE = context_of(Question())


def named(words: str) -> str | None:
    found = which_call(Heard.typed(words), HERE)
    return found.name if found else None


@pytest.mark.parametrize("standard", STANDARDS)
def test_every_model_call_is_found_by_its_name(standard: str) -> None:
    question = Question(standard=standard, intention="touch_and_go", point="QUARRY", distance_nm=3, nature="engine_failure",
                        atis="alfa", where="10 west", fuel_min=20, souls=2, altitude_ft=3500)  # fmt: skip
    context = context_of(question)
    wrongly = {}
    for expected in calls_of(context):
        found = which_call(Heard.typed(expected.model_call), context)
        if found is None or found.name != expected.name:
            wrongly[expected.name] = found
    # In US civil towers the gear need not be said: the two calls are then the same words.
    assert wrongly.keys() == ({"intention"} if standard == "us_civil_tower" else set())


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("sable two one, runway three one, cleared touch and go", "answer_to_cleared"),
        ("sable two one, runway three one, cleared low approach", "answer_to_cleared"),
        ("sable two one, closed approved", "answer_to_closed_approved"),
        ("sable two one, breaking out, report silo", "breaking_out"),
        ("heron four two, request closed", "request_closed"),
        ("corbel traffic, sable two one, left break, corbel", "announce_break"),
        ("sable two one, wilco", ACKNOWLEDGEMENT.name),
        ("sable two one, unable", "unable"),
        ("sable two one", None),
        ("the weather is lovely and my neighbour had a silo built", None),
        ("", None),
    ],
)
def test_words_and_what_they_are(words: str, name: str | None) -> None:
    assert named(words) == name


def test_what_was_due_goes_before_what_fits_better() -> None:
    words = Heard.typed("sable two one, breaking out, report quarry")
    due = expected_of(Question(after="SABLE 21, unable closed, breakout, report QUARRY"))
    found = which_call(words, HERE, due)
    assert found is not None
    assert found.name == due.name != named(words.text)
    other = which_call(Heard.typed("sable two one, three mile initial"), HERE, due)
    assert other is not None
    assert other.name == "initial"
