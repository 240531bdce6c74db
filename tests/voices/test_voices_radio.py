"""The channel: its band, its noise, its edges, and that it never leaves full scale."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from voices.errors import VoiceError
from voices.mixing import active_level, frame_power
from voices.radio import (
    BANDS_HZ,
    CLEAN,
    NEAR_NM,
    NORMAL,
    SETTINGS,
    WEAK,
    RadioSetting,
    band_pass,
    blocked,
    radio,
)
from voices.sound import Samples, Sound

RATE = 22_050
PRESETS = list(SETTINGS.values())


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
    # A sound passes twice, before and behind the clipper: an edge is where 6 dB are lost in all.
    assert passed[np.argmin(np.abs(hz - 300))] == pytest.approx(0.5**0.5, abs=0.02)


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
    setting = replace(NORMAL, open_s=0.0)
    heard = radio(Sound(np.zeros(RATE, dtype=np.float32), RATE), setting, np.random.default_rng(0))
    assert 0 < np.abs(heard.samples[:RATE]).max() < 0.05


@pytest.mark.parametrize(
    ("spacing", "hz", "least_db", "most_db"),
    [
        # 300-3,400 Hz on channels of 25 kHz, about 300-2,500 Hz on those of 8.33 kHz (check values 7, from memory).
        ("25", 150, -200, -40),
        ("25", 300, -9, -3),
        ("25", 1_000, -1, 1),
        ("25", 2_700, -1, 1),
        ("25", 3_400, -9, -3),
        ("25", 5_000, -200, -40),
        ("8.33", 150, -200, -40),
        ("8.33", 300, -9, -3),
        ("8.33", 1_000, -1, 1),
        ("8.33", 2_500, -9, -3),
        ("8.33", 2_700, -200, -30),
        ("8.33", 3_400, -200, -40),
        ("8.33", 5_000, -200, -40),
    ],
)
def test_a_tone_comes_through_as_the_spacing_of_the_channels_lets_it(
    spacing: str, hz: int, least_db: float, most_db: float
) -> None:
    rate = 16_000
    at = np.arange(2 * rate) / rate

    def level_of(tone_hz: float) -> float:
        # A louder tone beside it keeps the gain control from making up for the filter.
        tones = 0.3 * np.sin(2 * np.pi * 700 * at) + 0.01 * np.sin(2 * np.pi * tone_hz * at)
        setting = replace(CLEAN.on(spacing), noise_db=-200.0, drive=1e-3, lead_s=0.0)
        heard = radio(Sound(tones.astype(np.float32), rate), setting, np.random.default_rng(0)).samples
        middle = heard[rate // 2 : rate // 2 + rate] * np.hanning(rate)
        spectrum = np.abs(np.fft.rfft(middle))
        return float(20 * np.log10(spectrum[round(tone_hz)] / spectrum[700] / (0.01 / 0.3) + 1e-12))

    assert least_db <= level_of(hz) <= most_db


@pytest.mark.parametrize("setting", PRESETS)
@pytest.mark.parametrize("spacing", BANDS_HZ)
@pytest.mark.parametrize("level", [0.08, 0.3, 0.9])
def test_every_voice_is_about_as_loud_and_leaves_room_at_the_top(
    setting: RadioSetting, spacing: str, level: float
) -> None:
    setting = setting.on(spacing)
    heard = radio(syllables(level=level), setting, np.random.default_rng(0))
    noiseless = replace(setting, noise_db=-200.0, open_s=0.0, tail_s=0.0)
    voice = radio(syllables(level=level), noiseless, np.random.default_rng(0))
    assert 20 * np.log10(active_level(voice)) == pytest.approx(-16.0, abs=2.0)
    assert np.abs(heard.samples).max() < 0.99


def test_a_narrow_channel_never_widens_a_narrow_setting() -> None:
    assert WEAK.on("25").high_hz == WEAK.high_hz
    assert WEAK.on("8.33").high_hz == BANDS_HZ["8.33"][1]


def test_noise_grows_by_six_decibels_when_the_distance_doubles_and_stays_bearable() -> None:
    assert NORMAL.from_afar(NEAR_NM / 2) == NORMAL.from_afar(NEAR_NM) == NORMAL
    assert NORMAL.from_afar(2 * NEAR_NM).noise_db - NORMAL.noise_db == pytest.approx(6.0, abs=0.1)
    assert NORMAL.from_afar(10_000).noise_db <= -14.0
    assert replace(NORMAL, noise_db=-6.0).from_afar(50).noise_db == -6.0


def words(hz: float, seconds: float, rate: int = RATE) -> Sound:
    at = np.arange(round(seconds * rate)) / rate
    wave = 0.5 * np.sin(2 * np.pi * hz * at) * np.maximum(0, np.sin(2 * np.pi * 4 * at))
    return Sound(wave.astype(np.float32), rate)


def test_two_carriers_give_both_voices_under_one_steady_tone() -> None:
    first, second = words(1_300, 2.0), words(2_300, 1.0)
    heard = blocked(first, second, replace(NORMAL, noise_db=-80.0), np.random.default_rng(3))
    assert heard.seconds == pytest.approx(first.seconds + NORMAL.lead_s + NORMAL.tail_s, abs=2 / RATE)
    start = round(NORMAL.lead_s * RATE)
    samples = heard.samples[start : start + RATE]  # both speak
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    tone = int(np.argmax(spectrum))
    assert 450 <= tone <= 1_100  # the difference of the carriers
    floor = np.median(spectrum[300:3_000])
    assert spectrum[1_295:1_306].max() > 10 * floor
    assert spectrum[2_295:2_306].max() > 10 * floor
    # The first station alone has no such tone.
    alone = radio(first, replace(NORMAL, noise_db=-80.0), np.random.default_rng(3)).samples[
        start : start + RATE
    ]
    assert np.abs(np.fft.rfft(alone * np.hanning(len(alone))))[tone] < 0.01 * spectrum[tone]
    assert np.abs(heard.samples).max() < 1.0
    assert heard.samples[0] == heard.samples[-1] == 0.0


def test_a_blocked_message_of_two_rates_is_refused() -> None:
    with pytest.raises(VoiceError, match="resample"):
        blocked(words(500, 1.0), words(500, 1.0, 8_000), NORMAL, np.random.default_rng(0))


def test_who_keys_late_loses_the_beginning_without_a_click() -> None:
    silence = np.zeros(RATE // 4, dtype=np.float32)
    sound = Sound(np.concatenate([silence, words(800, 1.0).samples]), RATE)
    quiet = replace(NORMAL, noise_db=-200.0, open_s=0.0, tail_s=0.0, lead_s=0.1)
    whole, late = (radio(sound, quiet, np.random.default_rng(0), late_s) for late_s in (0.0, 0.06))
    # The quarter of silence goes with the syllable: he keys while he speaks.
    assert whole.seconds - late.seconds == pytest.approx(0.25 + 0.06, abs=0.02)
    power = frame_power(late.samples, RATE // 100)
    assert power[9] < power[11:13].max() / 100  # carrier first, then at once the middle of a syllable
    steepest = 2 * np.sin(np.pi * (quiet.high_hz + 40) / RATE) * np.abs(late.samples).max()
    assert np.abs(np.diff(late.samples)).max() <= steepest


def test_transmissions_one_after_another_join_without_a_click() -> None:
    parts = [
        radio(syllables(1.0), setting, np.random.default_rng(i)) for i, setting in enumerate(PRESETS * 2)
    ]
    joined = np.concatenate([part.samples for part in parts])
    edges = np.cumsum([len(part.samples) for part in parts])[:-1]
    steps = np.abs(np.diff(joined))
    loudest = np.abs(joined).max()
    for edge in edges:
        assert steps[edge - 1] == 0.0  # both ends are silence
        assert steps[edge - 20 : edge + 20].max() < 0.1 * loudest
