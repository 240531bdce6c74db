"""Levels of sound of which they are known: a voice of so much, over noise of so much."""

from collections.abc import Callable

import numpy as np
import pytest

from trainer.ears.level import FLOOR_DBFS, LevelMeter, Trouble, measure
from trainer.ears.recogniser import SAMPLE_RATE, Block

Speak = Callable[[str, str], Block]


def scene(speak: Speak, speech_dbfs: float, noise_dbfs: float) -> Block:
    """A call between stretches of white noise; the level of the voice is that of its 32 ms that are not silent."""
    voice = speak("corbel tower sable two one five mile initial touch and go", "en-us").astype(np.float64)
    frames = voice[: len(voice) // 512 * 512].reshape(-1, 512)
    power = (frames**2).mean(axis=1)
    voice *= 32768 * 10 ** (speech_dbfs / 20) / np.sqrt(power[power > 0.001 * power.max()].mean())
    lead = np.zeros(2 * SAMPLE_RATE)
    sound = np.concatenate([lead, voice, lead])
    sound += np.random.default_rng(3).normal(0, 32768 * 10 ** (noise_dbfs / 20), len(sound))
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


@pytest.mark.parametrize(
    ("speech", "noise"), [(-20.0, -60.0), (-30.0, -50.0), (-45.0, -70.0), (-20.0, -28.0)]
)
def test_voice_and_room_are_measured(speak: Speak, speech: float, noise: float) -> None:
    level = measure(scene(speak, speech, noise))
    assert level.speech_dbfs == pytest.approx(speech, abs=1.5)
    assert level.noise_dbfs == pytest.approx(noise, abs=1.0)
    assert level.snr_db == pytest.approx(speech - noise, abs=2.0)
    assert level.clipped == 0


@pytest.mark.parametrize(
    ("speech", "noise", "troubles"),
    [
        (-20.0, -50.0, ()),
        (-56.0, -80.0, (Trouble.QUIET,)),
        (-20.0, -26.0, (Trouble.NOISY,)),
        (-4.0, -50.0, (Trouble.CLIPPED,)),
        (-54.0, -60.0, (Trouble.QUIET, Trouble.NOISY)),
    ],
)
def test_what_is_wrong_is_named(
    speak: Speak, speech: float, noise: float, troubles: tuple[Trouble, ...]
) -> None:
    assert measure(scene(speak, speech, noise)).troubles == troubles


@pytest.mark.parametrize("trouble", Trouble)
def test_each_remedy_is_one_sentence(trouble: Trouble) -> None:
    assert trouble.value.count(".") == 1
    assert ": " in trouble.value


def test_the_block_size_does_not_matter(speak: Speak) -> None:
    sound = scene(speak, -25.0, -55.0)
    meter = LevelMeter(window_s=60.0)
    for start in range(0, len(sound), 333):
        meter.feed(sound[start : start + 333])
    assert meter.level == measure(sound)


def test_an_offset_is_neither_voice_nor_noise(speak: Speak) -> None:
    sound = scene(speak, -30.0, -60.0)
    assert measure(sound + np.int16(2000)).noise_dbfs == pytest.approx(measure(sound).noise_dbfs, abs=0.5)


@pytest.mark.parametrize("sound", [np.zeros(0, np.int16), np.zeros(3 * SAMPLE_RATE, np.int16)])
def test_silence_is_silence_and_no_trouble(sound: Block) -> None:
    level = measure(sound)
    assert (level.speech_dbfs, level.snr_db, level.peak_dbfs, level.noise_dbfs) == (
        None,
        None,
        FLOOR_DBFS,
        FLOOR_DBFS,
    )
    assert level.troubles == ()


def test_noise_alone_is_no_voice() -> None:
    noise = np.random.default_rng(1).normal(0, 1000, 5 * SAMPLE_RATE).astype(np.int16)
    level = measure(noise)
    assert level.speech_dbfs is None
    assert level.noise_dbfs == pytest.approx(20 * np.log10(1000 / 32768), abs=0.5)


def test_a_meter_forgets(speak: Speak) -> None:
    meter = LevelMeter(window_s=2.0)
    meter.feed(scene(speak, -4.0, -50.0))
    meter.feed(np.random.default_rng(2).normal(0, 10, 3 * SAMPLE_RATE).astype(np.int16))
    assert meter.level.speech_dbfs is None
    assert meter.level.seconds == pytest.approx(2.0, abs=0.04)
    assert meter.level.peak_dbfs < -50
