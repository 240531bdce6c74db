"""Rates, sums, and noise at the ratio that was asked for."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voices.errors import VoiceError
from voices.mixing import Noise, active_level, mix, noise, resample, with_noise
from voices.sound import Samples, Sound


def tone(hz: float, seconds: float = 1.0, rate: int = 22_050, level: float = 0.3) -> Sound:
    at = np.arange(round(seconds * rate)) / rate
    return Sound((level * np.sin(2 * np.pi * hz * at)).astype(np.float32), rate)


def band_db(samples: Samples, rate: int, low: float, high: float) -> float:
    """Power between two frequencies, in dB of full scale."""
    power = np.abs(np.fft.rfft(samples)) ** 2 / len(samples) ** 2 * 2
    hz = np.fft.rfftfreq(len(samples), 1 / rate)
    return float(10 * np.log10(power[(hz >= low) & (hz < high)].sum() + 1e-20))


def test_resampling_keeps_length_pitch_and_level() -> None:
    sound = resample(tone(440), 16_000)
    assert sound.rate == 16_000
    assert sound.samples.dtype == np.float32
    assert sound.seconds == pytest.approx(1.0, abs=0.001)
    assert np.argmax(np.abs(np.fft.rfft(sound.samples))) == pytest.approx(440, abs=1)
    assert active_level(sound) == pytest.approx(0.3 / np.sqrt(2), rel=0.01)


def test_resampling_down_lets_nothing_fold_back() -> None:
    sound = resample(tone(10_000), 16_000)
    assert band_db(sound.samples, 16_000, 0, 8_000) < -60


def test_resampling_nothing_gives_nothing() -> None:
    assert resample(Sound(np.zeros(0, dtype=np.float32), 22_050), 16_000).seconds == 0


def test_a_mix_has_each_part_at_its_time() -> None:
    sound = mix([(0.0, tone(440, 0.5)), (0.25, tone(2_000, 0.5))])
    assert sound.seconds == pytest.approx(0.75, abs=0.001)
    first, last = sound.samples[:5_000], sound.samples[-5_000:]
    assert band_db(first, sound.rate, 1_900, 2_100) < -45 < -20 < band_db(first, sound.rate, 400, 500)
    assert band_db(last, sound.rate, 400, 500) < -45 < -20 < band_db(last, sound.rate, 1_900, 2_100)


def test_a_mix_that_is_too_loud_is_turned_down_as_a_whole() -> None:
    loud = tone(440, level=0.8)
    sound = mix([(0.0, loud), (0.0, loud)])
    assert np.abs(sound.samples).max() <= 1.0
    assert np.corrcoef(sound.samples, loud.samples)[0, 1] == pytest.approx(1.0)


def test_sounds_of_unlike_rates_do_not_mix() -> None:
    with pytest.raises(VoiceError, match=r"\[16000, 22050\].*resample"):
        mix([(0.0, tone(440)), (0.0, tone(440, rate=16_000))])


@given(st.sampled_from(Noise), st.floats(-5, 40), st.integers(0, 2**32))
def test_noise_comes_at_the_ratio_asked_for(kind: Noise, snr_db: float, seed: int) -> None:
    speech = tone(440, level=0.05)
    noisy = with_noise(speech, snr_db, np.random.default_rng(seed), kind)
    under = noisy.samples - speech.samples
    assert np.abs(noisy.samples).max() < 1.0
    measured = 20 * np.log10(active_level(speech) / np.sqrt(np.mean(under.astype(np.float64) ** 2)))
    assert measured == pytest.approx(snr_db, abs=0.1)


def test_pauses_do_not_count_towards_the_level() -> None:
    spoken = tone(440)
    with_pause = Sound(np.pad(spoken.samples, (30_000, 60_000)), spoken.rate)
    assert active_level(with_pause) == pytest.approx(active_level(spoken), rel=0.03)
    assert active_level(Sound(np.zeros(1_000, dtype=np.float32), 16_000)) == 0.0


def test_the_same_generator_gives_the_same_noise() -> None:
    for kind in Noise:
        one, same, other = (noise(kind, 4_000, 16_000, np.random.default_rng(seed)) for seed in (1, 1, 2))
        assert np.array_equal(one, same)
        assert not np.array_equal(one, other)


def test_each_kind_of_noise_has_its_colour() -> None:
    def octave_step(kind: Noise, low: float) -> float:
        samples = noise(kind, 160_000, 16_000, np.random.default_rng(4))
        return band_db(samples, 16_000, 2 * low, 4 * low) - band_db(samples, 16_000, low, 2 * low)

    assert octave_step(Noise.WHITE, 500) == pytest.approx(3.0, abs=0.3)
    assert octave_step(Noise.PINK, 500) == pytest.approx(0.0, abs=0.3)
    assert octave_step(Noise.COCKPIT, 2_000) == pytest.approx(-3.0, abs=0.6)


def test_silence_with_noise_stays_silent() -> None:
    silence = Sound(np.zeros(1_000, dtype=np.float32), 16_000)
    assert not with_noise(silence, 10, np.random.default_rng(0)).samples.any()
    assert with_noise(Sound(silence.samples[:0], 16_000), 10, np.random.default_rng(0)).seconds == 0
