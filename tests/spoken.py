"""Calls spoken by espeak through cockpit noise, for the tests that hear them, and the flight that they are of."""

import zlib
from functools import partial

import numpy as np

from trainer.ears.listener import as_block
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.judging import Question
from voices.mixing import Noise, resample, with_noise
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker

VOICES = ("en-us+f3", "en-gb-x-rp+m1", "en-us+m7")
HERE = partial(Question, field="corbel", runway="31", callsign="SABLE 21", intention="touch_and_go", point="QUARRY",
               distance_nm=3, atis="alfa", where="10 west", altitude_ft=3500, nature="engine_failure", fuel_min=20,
               souls=2)  # fmt: skip
NOISE_DB = 20.0


def spoken(speaker: WorkerSpeaker, words: str, voice: str) -> Block:
    """The words 20 dB over the noise, half a second of it before and after; the same words, the same noise."""
    rng = np.random.default_rng(zlib.crc32(words.encode()))
    said = resample(speaker.speak(words, Voice(voice, 155)), SAMPLE_RATE)
    pause = np.zeros(SAMPLE_RATE // 2, np.float32)
    framed = Sound(np.concatenate([pause, 0.5 * said.samples, pause]), SAMPLE_RATE)
    return as_block(with_noise(framed, NOISE_DB, rng, Noise.COCKPIT).samples)
