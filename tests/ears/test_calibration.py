"""The verdict on a microphone, and the gain that makes a quiet one hear."""

import json
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from phraseology.wordgraph import WordAutomaton
from trainer.ears.calibration import AIM_DBFS, Calibration, Verdict, amplify, calibrate
from trainer.ears.errors import EarsError
from trainer.ears.listener import HeardCall, Listener
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.vosk_ears import OwnGraphRecogniser

Speak = Callable[[str, str], Block]

CALL = "corbel tower sable two one five mile initial touch and go"


def ten_seconds(speak: Speak, gain_db: float, noise_db: float, voice: str = "en-us") -> Block:
    """Two calls whose loudest sample is at -10 dBFS + `gain_db`; noise in dBFS before that gain."""
    pause = np.zeros(SAMPLE_RATE)
    said = speak(CALL, voice).astype(np.float64)
    sound = np.concatenate([pause, said, pause, said, pause])
    sound += np.random.default_rng(4).normal(0, 32768 * 10 ** (noise_db / 20), len(sound))
    return np.clip(np.rint(sound * 10 ** (gain_db / 20)), -32768, 32767).astype(np.int16)


def blocks(sound: Block) -> list[Block]:
    return [sound[start : start + 320] for start in range(0, len(sound), 320)]


@pytest.mark.parametrize(
    ("gain", "noise", "verdict", "reason"),
    [
        (0.0, -60.0, Verdict.GOOD, "loud and clear"),
        (-36.0, -60.0, Verdict.USABLE, "too quiet"),
        (-46.0, -50.0, Verdict.BAD, "too quiet"),
        (-52.0, -60.0, Verdict.BAD, "turn the microphone up if you did"),
        (0.0, -44.0, Verdict.USABLE, "headset would be better"),
        (0.0, -35.5, Verdict.USABLE, "room is too loud"),
        (0.0, -22.0, Verdict.BAD, "room is too loud"),
        (24.0, -60.0, Verdict.USABLE, "turn it down"),
    ],
)
def test_the_verdict_and_its_reason(
    speak: Speak, gain: float, noise: float, verdict: Verdict, reason: str
) -> None:
    found = calibrate(blocks(ten_seconds(speak, gain, noise)))
    assert (found.verdict, reason in found.reason) == (verdict, True), found
    assert found.reason.endswith(".")


@pytest.mark.parametrize(
    ("sound", "reason"),
    [
        (np.zeros(0, np.int16), "unmute it"),
        (np.zeros(10 * SAMPLE_RATE, np.int16), "unmute it"),
        (np.random.default_rng(1).normal(0, 300, 10 * SAMPLE_RATE).astype(np.int16), "read the calls aloud"),
    ],
)
def test_no_voice_is_a_bad_microphone(sound: Block, reason: str) -> None:
    found = calibrate([sound])
    assert found.verdict is Verdict.BAD
    assert reason in found.reason
    assert (found.speech_dbfs, found.gain_db, found.words_a_second) == (None, 0.0, None)


def test_a_loud_voice_is_left_alone_and_a_quiet_one_raised(speak: Speak) -> None:
    assert calibrate([ten_seconds(speak, 0.0, -60.0)]).gain_db == 0.0
    quiet = ten_seconds(speak, -35.0, -60.0)
    found = calibrate([quiet])
    assert found.speech_dbfs is not None
    raised = calibrate([amplify(quiet, found.gain_db)])
    assert raised.speech_dbfs == pytest.approx(AIM_DBFS, abs=1.0)
    assert raised.verdict is Verdict.GOOD
    assert raised.peak_dbfs <= -2.5


def test_a_click_is_not_raised_over_full_scale(speak: Speak) -> None:
    sound = ten_seconds(speak, -40.0, -60.0)
    sound[8000] = 4000
    found = calibrate([sound])
    assert np.abs(amplify(sound, found.gain_db).astype(int)).max() < 32767


def test_the_gain_makes_a_faint_voice_heard(
    speak: Speak, own_ears: OwnGraphRecogniser, situation: WordAutomaton
) -> None:
    sound = ten_seconds(speak, -46.0, -50.0)
    gain_db = calibrate([sound]).gain_db

    def heard(gain_db: float) -> list[str]:
        events = Listener(own_ears, lambda: situation, gain_db=gain_db).feed(sound)
        return [event.heard.text for event in events if isinstance(event, HeardCall)]

    assert heard(0.0) != [CALL, CALL], "it needs no gain: the test shows nothing"
    assert heard(gain_db) == [CALL, CALL]


def test_amplify_saturates_and_keeps_the_type() -> None:
    raised = amplify(np.array([-20_000, -100, 0, 100, 20_000], np.int16), 20.0)
    assert raised.tolist() == [-32768, -1000, 0, 1000, 32767]
    assert raised.dtype == np.int16


@pytest.mark.parametrize(("voice", "least", "most"), [("en-us", 2.0, 4.5), ("en-gb-scotland", 2.0, 4.5)])
def test_the_speaking_rate_leaves_out_the_pauses(speak: Speak, voice: str, least: float, most: float) -> None:
    sound = ten_seconds(speak, 0.0, -60.0, voice)
    words = 2 * len(CALL.split())
    rate = calibrate([sound], words).words_a_second
    assert rate is not None
    assert least < rate < most
    longer = np.concatenate([sound, np.zeros(10 * SAMPLE_RATE, np.int16)])
    assert calibrate([longer], words).words_a_second == pytest.approx(rate, rel=0.05)


def test_what_is_saved_comes_back(speak: Speak) -> None:
    found = calibrate([ten_seconds(speak, -30.0, -50.0)], 22)
    assert Calibration.from_json(json.loads(json.dumps(found.as_json()))) == found
    nothing = calibrate([np.zeros(0, np.int16)])
    assert Calibration.from_json(json.loads(json.dumps(nothing.as_json()))) == nothing


GOOD = Calibration(Verdict.GOOD, "The voice is loud and clear.", -60.0, -20.0, -8.0, 0.0)


@pytest.mark.parametrize(
    "damage",
    [
        {"verdict": "splendid"},
        {"gain_db": 400.0},
        {"gain_db": "much"},
        {"noise_dbfs": None},
        {"noise_dbfs": float("nan")},
    ],
)
def test_a_damaged_calibration_is_one_sentence(damage: dict[str, object]) -> None:
    with pytest.raises(EarsError, match=r"calibration cannot be read \(.*\): calibrate again"):
        Calibration.from_json(GOOD.as_json() | damage)


def test_a_calibration_that_lacks_something_is_one_sentence() -> None:
    with pytest.raises(EarsError, match="calibrate again"):
        Calibration.from_json({"verdict": "good"})
    assert replace(GOOD, speech_dbfs=None).snr_db is None
    assert GOOD.snr_db == 40.0
