"""Files: an exact round trip, and one clear sentence for each way in which a file can be wrong."""

import struct
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from voices.errors import VoiceError
from voices.sound import Sound
from voices.wav import read_wav, write_wav

TONE = (np.sin(np.arange(1600) / 5) / 2).astype(np.float32)


def raw_wav(path: Path, *, channels: int = 1, width: int = 2, frames: int = 100, rate: int = 16_000) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        file.writeframes(bytes(channels * width * frames))
    return path


@given(arrays(np.int16, st.integers(1, 200)), st.sampled_from([8_000, 16_000, 22_050, 48_000]))
def test_what_was_written_is_read_to_the_bit(
    tmp_path_factory: pytest.TempPathFactory, values: np.ndarray, rate: int
) -> None:
    path = tmp_path_factory.mktemp("wav") / "a.wav"
    write_wav(path, Sound((values / 32_768).astype(np.float32), rate))
    sound = read_wav(path)
    assert sound.rate == rate
    assert sound.samples.dtype == np.float32
    assert np.array_equal(np.round(sound.samples * 32_768).astype(np.int16), values)


def test_beyond_full_scale_is_limited_not_wrapped(tmp_path: Path) -> None:
    write_wav(tmp_path / "a.wav", Sound(np.array([2.0, -2.0], dtype=np.float32), 8_000))
    assert read_wav(tmp_path / "a.wav").samples == pytest.approx([1.0, -1.0], abs=1e-4)


def test_a_file_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "taken.wav").mkdir()
    with pytest.raises(VoiceError, match="cannot write .*choose a folder"):
        write_wav(tmp_path / "taken.wav", Sound(TONE, 16_000))
    with pytest.raises(VoiceError, match="cannot write"):
        write_wav(tmp_path / "missing" / "a.wav", Sound(TONE, 16_000))
    assert [path.name for path in tmp_path.iterdir()] == ["taken.wav"]


def test_writing_over_a_file_replaces_it(tmp_path: Path) -> None:
    path = raw_wav(tmp_path / "a.wav", frames=5)
    write_wav(path, Sound(TONE, 16_000))
    assert len(read_wav(path).samples) == len(TONE)
    assert list(tmp_path.iterdir()) == [path]


def truncated(path: Path) -> None:
    raw_wav(path, frames=100)
    path.write_bytes(path.read_bytes()[:-60])


FAULTS: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda path: None, "there is no file"),
    "no bytes": (lambda path: path.touch(), r"is empty \(0 bytes\): record it again"),
    "text": (lambda path: path.write_text("hello, this is no sound file at all"), "is not a 16-bit WAV file"),
    "half a header": (lambda path: path.write_bytes(b"RIFF"), "its header is cut short"),
    "folder": (lambda path: path.mkdir(), "cannot read"),
    "truncated": (truncated, "promises 100 samples, it has 70"),
    "no samples": (lambda path: raw_wav(path, frames=0), "holds no sound"),
    "8 bit": (lambda path: raw_wav(path, width=1), "8 bits a sample, 16 are needed.*sox"),
    "24 bit": (lambda path: raw_wav(path, width=3), "24 bits a sample, 16 are needed.*sox"),
    "stereo": (lambda path: raw_wav(path, channels=2), "2 channels, 1 is needed.*sox"),
    "floats": (
        lambda path: path.write_bytes(
            b"RIFF" + struct.pack("<I", 40) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 3, 1, 16_000, 64_000, 4, 32)
            + b"data" + struct.pack("<If", 4, 0.5)
        ),
        "is not a 16-bit WAV file.*sox",
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_faulty_file_gets_one_sentence_with_the_cure(tmp_path: Path, fault: str) -> None:
    make, sentence = FAULTS[fault]
    path = tmp_path / "call.wav"
    make(path)
    with pytest.raises(VoiceError, match=sentence) as caught:
        read_wav(path)
    assert str(path) in caught.value.what
    assert caught.value.remedy
    assert "\n" not in str(caught.value)


def test_another_rate_is_refused_only_when_a_rate_is_asked_for(tmp_path: Path) -> None:
    path = raw_wav(tmp_path / "a call.wav", rate=44_100)
    assert read_wav(path).rate == 44_100
    assert read_wav(path, rate=44_100).rate == 44_100
    with pytest.raises(VoiceError, match="44100 samples a second, 16000 are needed") as caught:
        read_wav(path, rate=16_000)
    assert f"sox '{path}' -r 16000 -b 16 -c 1 '{tmp_path}/a call-mono16.wav'" in caught.value.remedy
