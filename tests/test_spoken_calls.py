"""Calls in synthetic voices through noise, heard and judged: right ones accepted, wrong ones and nonsense never.

The voices are espeak's, which the model was trained on; tests/ears and DEVELOPERS.md say what other voices give.
"""

import itertools
import zlib
from collections.abc import Iterator
from functools import partial

import numpy as np
import pytest

from phraseology.assess import Assessment, assess
from phraseology.calls import CALLS, TOWER_CALLS, expect
from phraseology.situation import situation
from trainer.ears.listener import as_block, hear_whole
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.ears.vosk_ears import OwnGraphRecogniser
from trainer.judging import Question, expected_of
from voices.mixing import Noise, resample, with_noise
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker

VOICES = ("en-us+f3", "en-gb-x-rp+m1", "en-us+m7")
HERE = partial(Question, field="corbel", runway="31", callsign="SABLE 21", intention="touch_and_go", point="QUARRY",
               distance_nm=3, atis="alfa", where="10 west", altitude_ft=3500, nature="engine_failure", fuel_min=20,
               souls=2)  # fmt: skip

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


@pytest.fixture(scope="module")
def speaker() -> Iterator[WorkerSpeaker]:
    with WorkerSpeaker() as worker:
        yield worker


@pytest.fixture(scope="module")
def ears() -> OwnGraphRecogniser:
    return OwnGraphRecogniser()


@pytest.fixture
def spoken(speaker, ears):
    """Say the words at 20 dB over cockpit noise, hear them in the situation of the question, judge them."""

    def judge(question: Question, words: str, voice: str) -> Assessment:
        expected = expected_of(question)
        rng = np.random.default_rng(zlib.crc32(words.encode()))
        said = resample(speaker.speak(words, Voice(voice, 155)), SAMPLE_RATE)
        pause = np.zeros(SAMPLE_RATE // 2, np.float32)
        sound = with_noise(
            Sound(np.concatenate([pause, 0.5 * said.samples, pause]), SAMPLE_RATE), 20.0, rng, Noise.COCKPIT
        )
        others = [expect(name, expected.context) for name in TOWER_CALLS if name != expected.name]
        return assess(expected, hear_whole(as_block(sound.samples), ears, situation([expected], others)))

    return judge


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("call", CALLS)
def test_a_right_call_is_accepted(spoken, call, voice):
    model_call = expected_of(HERE(call=call)).model_call
    assert spoken(HERE(call=call), model_call, voice).accepted


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("call", CALLS)
def test_a_wrong_call_is_not(spoken, call, voice):
    assert not spoken(HERE(call=call), WRONG[call], voice).accepted


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize(("message", "right", "wrong"), ANSWERS)
def test_answers_to_the_tower(spoken, message, right, wrong, voice):
    assert spoken(HERE(after=message), right, voice).accepted
    assert not spoken(HERE(after=message), wrong, voice).accepted


@pytest.mark.parametrize(("call", "words"), zip(CALLS, itertools.cycle(NONSENSE), strict=False))
def test_nonsense_is_never_accepted(spoken, call, words):
    assert not spoken(HERE(call=call), words, VOICES[0]).accepted
