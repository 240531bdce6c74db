"""Calls in synthetic voices through noise, heard and judged: right ones accepted, wrong ones and nonsense never.

The voices are espeak's, which the model was trained on; tests/ears and DEVELOPERS.md say what other voices give.
"""

import itertools

import pytest

from phraseology.assess import Assessment, assess
from phraseology.calls import CALLS, TOWER_CALLS, expect
from phraseology.situation import situation
from tests.spoken import HERE, VOICES, spoken
from trainer.ears.listener import hear_whole
from trainer.judging import Question, expected_of

WRONG = {
    "check_in": "corbel tower, heron two one, ten miles west, three thousand five hundred, information alfa, request overhead",
    "entry_point": "sable two one, silo",
    "initial": "sable two one, five mile initial",
    "break_report": "sable two one, outside downwind",
    "gear_report": "sable two one, touch and go",
    "request_closed": "sable one two, request closed",
    "outside_downwind": "sable two one, closed downwind",
    "going_around": "sable two one, roger",
    "breaking_out": "sable two seven, breaking out",
    "straight_through": "sable two one, breaking out",
    "say_again": "heron four two, say again",
    "ninety_to_initial": "sable two one, forty five to initial",
    "forty_five_to_initial": "sable two one, ninety to initial",
    "final": "sable two one, four mile final",
    "intention": "sable two one, full stop",
    "clear_of_runway": "sable two one, clear of the runway, runway one three",
    "on_the_go": "sable two one, going around",
    "closed_downwind": "sable two one, inside downwind",
    "crosswind": "sable two one, outside downwind",
    "climbing_out": "sable two one, climbing out, report silo",
    "unable": "sable two one, wilco",
    "stand_by": "sable one one, stand by",
    "traffic_in_sight": "sable two one, negative contact",
    "negative_contact": "sable two one, traffic in sight",
    "radio_check": "sable two three, radio check",
    "minimum_fuel": "sable five one, minimum fuel",
    "emergency": "mayday mayday mayday, sable two four, engine failure",
    "emergency_details": "sable two one, two souls on board",
    "announce_inbound": "corbel traffic, sable two one, ten miles west",
    "announce_initial": "corbel traffic, sable two one, outside downwind, corbel",
    "announce_break": "corbel traffic, heron two one, in the break, corbel",
    "announce_final": "corbel traffic, sable two one, final turn, gear down, runway one three, touch and go, corbel",
    "announce_departure": "corbel traffic, sable two one, breaking out, corbel",
    "announce_clear": "corbel tower, sable two one, clear of the runway, corbel",
}

ANSWERS = (
    ("SABLE 21, closed approved", "sable two one, closed approved", "sable two two, closed approved"),
    ("SABLE 21, unable closed, breakout, report QUARRY", "sable two one, breaking out, report quarry",
     "sable two one, closed approved"),
    ("SABLE 21, unable closed, climb out at or above 3,700, report SILO",
     "sable two one, climbing out three thousand seven hundred, report silo",
     "sable two one, climbing out two thousand seven hundred, report silo"),
    ("SABLE 21, runway 31, wind calm, cleared touch and go", "sable two one, runway three one, cleared touch and go",
     "sable two one, runway one three, cleared touch and go"),
    ("SABLE 21, runway 31, overhead approved, altimeter 29.92, report three mile initial",
     "sable two one, runway three one, altimeter two niner niner two, report three mile initial",
     "sable two one, roger"),
    ("SABLE 21, continue", "sable two one, continue", "sable two one, runway three one, cleared to land"),
)  # fmt: skip

NONSENSE = (
    "the weather is lovely and my neighbour bought a boat",
    "could you pass me the salt please it is on the kitchen table",
    "yesterday we walked along the river until it was dark",
)


@pytest.fixture
def judged(speaker, ears):
    """Say the words at 20 dB over cockpit noise, hear them in the situation of the question, judge them."""

    def judge(question: Question, words: str, voice: str) -> Assessment:
        expected = expected_of(question)
        others = [expect(name, expected.context) for name in TOWER_CALLS if name != expected.name]
        return assess(
            expected, hear_whole(spoken(speaker, words, voice), ears, situation([expected], others))
        )

    return judge


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("call", CALLS)
def test_a_right_call_is_accepted(judged, call, voice):
    model_call = expected_of(HERE(call=call)).model_call
    assert judged(HERE(call=call), model_call, voice).accepted


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("call", CALLS)
def test_a_wrong_call_is_not(judged, call, voice):
    assert not judged(HERE(call=call), WRONG[call], voice).accepted


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize(("message", "right", "wrong"), ANSWERS)
def test_answers_to_the_tower(judged, message, right, wrong, voice):
    assert judged(HERE(after=message), right, voice).accepted
    assert not judged(HERE(after=message), wrong, voice).accepted


@pytest.mark.parametrize(("call", "words"), zip(CALLS, itertools.cycle(NONSENSE), strict=False))
def test_nonsense_is_never_accepted(judged, call, words):
    assert not judged(HERE(call=call), words, VOICES[0]).accepted
