"""WAV files from elsewhere: what each form means, and one sentence for each that cannot be used.

The forms are written here by hand from the RIFF specification (Microsoft, 1991) and Python's own `wave`, so that the
reader is not held against itself.
"""

import struct
import wave
from pathlib import Path

import numpy as np
import pytest

from voices.any_wav import read_any_wav
from voices.errors import VoiceError

RATE = 22_050
TONE = 0.5 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)
GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")
"""Of the subformats in WAVEFORMATEXTENSIBLE, behind the two bytes of the old tag."""


def riff(
    tag: int, bits: int, data: bytes, *, channels: int = 1, size: int | None = None, extra: bytes = b""
) -> bytes:
    frame = channels * bits // 8
    form = struct.pack("<HHIIHH", tag, channels, RATE, RATE * frame, frame, bits) + extra
    chunks = b"LIST" + struct.pack("<I", 3) + b"abc\0"  # an odd one, padded
    chunks += b"fmt " + struct.pack("<I", len(form)) + form
    chunks += b"data" + struct.pack("<I", len(data) if size is None else size) + data
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks


def whole(bits: int) -> np.ndarray:
    return np.round(TONE * (2 ** (bits - 1) - 1)).astype("<i4")


def three_bytes(values: np.ndarray) -> bytes:
    return b"".join(int(value).to_bytes(3, "little", signed=True) for value in values)


FORMS = {
    "16 bits": riff(1, 16, whole(16).astype("<i2").tobytes()),
    "24 bits": riff(1, 24, three_bytes(whole(24))),
    "32 bits": riff(1, 32, whole(32).tobytes()),
    "float": riff(3, 32, TONE.astype("<f4").tobytes()),
    "double": riff(3, 64, TONE.astype("<f8").tobytes()),
    "extensible float": riff(
        0xFFFE, 32, TONE.astype("<f4").tobytes(), extra=struct.pack("<HHIH", 22, 32, 4, 3) + GUID_TAIL
    ),
    "from a pipe": riff(1, 16, whole(16).astype("<i2").tobytes(), size=0xFFFFFFFF),
    "stereo": riff(3, 32, np.stack([TONE * 2, TONE * 0], axis=1).astype("<f4").tobytes(), channels=2),
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_the_same_sound(tmp_path: Path, form: str) -> None:
    path = tmp_path / "call.wav"
    path.write_bytes(FORMS[form])
    sound = read_any_wav(path, longest_s=10)
    assert sound.rate == RATE
    assert sound.samples.dtype == np.float32
    np.testing.assert_allclose(sound.samples, TONE, atol=2e-4)


def test_it_agrees_with_the_standard_library(tmp_path: Path) -> None:
    path = tmp_path / "call.wav"
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 3, 48_000, 0, "NONE", ""))
        out.writeframes(three_bytes(whole(24)))
    assert read_any_wav(path, longest_s=10).rate == 48_000
    np.testing.assert_allclose(read_any_wav(path, longest_s=10).samples, TONE, atol=1e-6)


GOOD = FORMS["16 bits"]
BAD = {
    "nothing": (b"", r"is empty \(0 bytes\): record it again"),
    "flac": (b"fLaC" + bytes(100), "is a FLAC file, and only WAV files are read: convert it with  sox"),
    "text": (b"hello" * 100, "is no WAV file"),
    "half a head": (GOOD[:7], "is no WAV file"),
    "no sound": (GOOD[:40], "cut short"),
    "cut": (
        GOOD[:9000],
        r"is cut short \(its header promises 22050 samples, it has 44\d\d\): copy or record",
    ),
    "no samples": (riff(1, 16, b""), r"holds no sound \(0 samples\)"),
    "8 bits": (riff(1, 8, bytes(800)), "of a form that is not read .number 1, 8 bits"),
    "mu-law": (riff(7, 8, bytes(800)), "number 7, 8 bits"),
    "no channels": (riff(1, 16, bytes(800), channels=0), "damaged header"),
    "not a number": (riff(3, 32, np.full(800, np.nan, "<f4").tobytes()), "no numbers"),
    "long": (riff(1, 16, bytes(2 * RATE * 11)), "is longer than 10 seconds: cut it into single calls"),
}


@pytest.mark.parametrize("kind", BAD)
def test_what_cannot_be_used_is_one_sentence(tmp_path: Path, kind: str) -> None:
    data, says = BAD[kind]
    path = tmp_path / "call.wav"
    path.write_bytes(data)
    with pytest.raises(VoiceError, match=says) as caught:
        read_any_wav(path, longest_s=10)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(VoiceError, match="there is no file"):
        read_any_wav(tmp_path / "call.wav", longest_s=10)
    with pytest.raises(VoiceError, match="cannot read"):
        read_any_wav(tmp_path, longest_s=10)
