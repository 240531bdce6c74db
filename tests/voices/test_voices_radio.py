"""The channel: its band, its noise, its edges, and that it never leaves full scale."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from voices.mixing import active_level, frame_power
from voices.radio import CLEAN, NORMAL, WEAK, RadioSetting, band_pass, radio
from voices.sound import Samples, Sound

RATE = 22_050
PRESETS = [CLEAN, NORMAL, WEAK]


def syllables(seconds: float = 2.0, level: float = 0.3, rate: int = RATE) -> Sound:
    """Bursts of a rich tone, four a second, as speech has them; flat to 8 kHz."""
    at = np.arange(round(seconds * rate)) / rate
    tones = sum(np.sin(2 * np.pi * 120 * k * at + k * k) for k in range(1, 66))
    wave = tones * np.maximum(0, np.sin(2 * np.pi * 4 * at))
    return Sound((level * wave / np.abs(wave).max()).astype(np.float32), rate)


def density_db(samples: Samples, rate: int, low: float, high: float) -> float:
    power = np.abs(np.fft.rfft(samples)) ** 2
    hz = np.fft.rfftfreq(len(samples), 1 / rate)
    return float(10 * np.log10(power[(hz >= low) & (hz < high)].mean()))


@pytest.mark.parametrize("setting", PRESETS)
def test_only_the_voice_band_passes(setting: RadioSetting) -> None:
    samples = radio(syllables(), setting, np.random.default_rng(1)).samples
    inside = density_db(samples, RATE, 700, 2_800)
    assert density_db(samples, RATE, 20, setting.low_hz - 80) < inside - 35
    assert density_db(samples, RATE, setting.high_hz + 80, 10_000) < inside - 35


def test_the_band_is_flat_inside() -> None:
    impulse = np.zeros(RATE, dtype=np.float32)
    impulse[RATE // 2] = 1
    passed = np.abs(np.fft.rfft(band_pass(impulse, RATE, 300, 3_400)))
    hz = np.fft.rfftfreq(RATE, 1 / RATE)
    assert passed[(hz > 400) & (hz < 3_300)] == pytest.approx(1.0, abs=0.02)
    assert passed[np.argmin(np.abs(hz - 300))] == pytest.approx(0.5, abs=0.02)


@pytest.mark.parametrize("setting", PRESETS)
@pytest.mark.parametrize("rate", [8_000, 16_000, 22_050, 48_000])
def test_no_clicks(setting: RadioSetting, rate: int) -> None:
    samples = radio(syllables(rate=rate), setting, np.random.default_rng(1)).samples
    assert samples[0] == samples[-1] == 0.0
    # The steepest step that a tone at the band's upper edge can make at the loudest sample.
    steepest = 2 * np.sin(min(np.pi / 2, np.pi * (setting.high_hz + 40) / rate)) * np.abs(samples).max()
    assert np.abs(np.diff(samples)).max() <= steepest


@given(
    arrays(np.float32, st.integers(0, 3_000), elements=st.floats(-1, 1, width=32)),
    st.sampled_from(PRESETS),
    st.sampled_from([8_000, 16_000, 22_050]),
)
def test_any_sound_stays_within_full_scale(samples: Samples, setting: RadioSetting, rate: int) -> None:
    heard = radio(Sound(samples, rate), setting, np.random.default_rng(0))
    assert heard.rate == rate
    assert heard.samples.dtype == np.float32
    assert np.isfinite(heard.samples).all()
    assert np.abs(heard.samples).max(initial=0) <= 1.0
    assert heard.seconds == pytest.approx(len(samples) / rate + setting.lead_s + setting.tail_s, abs=2 / rate)


def test_the_same_generator_state_gives_the_same_samples() -> None:
    one, same, other = (radio(syllables(), NORMAL, np.random.default_rng(seed)).samples for seed in (5, 5, 6))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize("setting", PRESETS)
def test_noise_is_as_far_down_as_the_setting_says(setting: RadioSetting) -> None:
    setting = replace(setting, lead_s=0.5, tail_s=0.5, tail_db=-6.0)
    samples = radio(syllables(), setting, np.random.default_rng(2)).samples
    noiseless = replace(setting, noise_db=-200.0, tail_s=0.0)
    level = active_level(radio(syllables(), noiseless, np.random.default_rng(2)))

    def below(part: Samples) -> float:
        return float(20 * np.log10(np.sqrt(np.mean(part.astype(np.float64) ** 2)) / level))

    assert below(samples[500:10_000]) == pytest.approx(setting.noise_db, abs=0.5)
    assert below(samples[-10_000:-500]) == pytest.approx(setting.tail_db, abs=0.5)


def test_without_a_tail_the_noise_ends_with_the_voice() -> None:
    heard = radio(syllables(1.0), replace(NORMAL, tail_s=0.0, lead_s=0.0), np.random.default_rng(0))
    assert heard.seconds == 1.0


def test_a_quiet_voice_comes_out_nearly_as_loud_as_a_loud_one() -> None:
    loud, quiet = (radio(syllables(level=level), CLEAN, np.random.default_rng(0)) for level in (0.9, 0.15))
    assert 20 * np.log10(active_level(loud) / active_level(quiet)) < 4.0


def test_a_long_pause_is_not_pumped_up() -> None:
    speech = syllables(1.0)
    hum = 0.002 * np.sin(2 * np.pi * 1_000 * np.arange(2 * RATE) / RATE)
    samples = np.concatenate([speech.samples, hum, speech.samples]).astype(np.float32)
    heard = radio(Sound(samples, RATE), CLEAN, np.random.default_rng(0))
    power = frame_power(heard.samples, RATE // 50)
    assert power.max() / power[len(power) // 2] > 10**3


def test_more_drive_flattens_the_peaks() -> None:
    def crest(setting: RadioSetting) -> float:
        samples = radio(syllables(), setting, np.random.default_rng(0)).samples
        return float(np.abs(samples).max() / np.sqrt(np.mean(samples**2)))

    assert crest(replace(CLEAN, drive=6.0)) < 0.9 * crest(CLEAN)


def test_silence_stays_the_channels_own_noise() -> None:
    heard = radio(Sound(np.zeros(RATE, dtype=np.float32), RATE), NORMAL, np.random.default_rng(0))
    assert 0 < np.abs(heard.samples[:RATE]).max() < 0.05
