"""WAV files: 16 bit, mono, written whole or not at all, and refused with one sentence when faulty."""

import os
import shlex
import wave
from pathlib import Path

import numpy as np

from voices.errors import VoiceError
from voices.sound import Sound

FULL_SCALE = 32_768
_WIDTH = 2  # bytes a sample


def write_wav(path: Path, sound: Sound) -> None:
    """Write `sound` as 16-bit mono; values beyond full scale are limited to it.

    A reader never sees half a file: the bytes go to a neighbouring name that is then renamed.
    Raises VoiceError when the file cannot be written.
    """
    scaled = np.clip(np.round(sound.samples * FULL_SCALE), -FULL_SCALE, FULL_SCALE - 1)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as raw, wave.open(raw, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(_WIDTH)
            file.setframerate(sound.rate)
            file.writeframes(scaled.astype("<i2").tobytes())
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise VoiceError(
            f"cannot write {path} ({error.strerror})", "choose a folder that exists, is yours and has room"
        ) from error


def read_wav(path: Path, rate: int | None = None) -> Sound:
    """The sound in a 16-bit mono WAV file.

    `rate`, in samples a second, is the only rate accepted; None accepts any. Raises VoiceError,
    saying how to cure it, for a file that is missing, empty, cut short or of another kind.
    """
    try:
        size = path.stat().st_size
        if path.is_file() and size == 0:
            raise VoiceError(f"{path} is empty (0 bytes)", "record it again")
        with wave.open(str(path), "rb") as file:
            sound = _sound(path, file, size)
    except FileNotFoundError as error:
        raise VoiceError(f"there is no file {path}", "check the name and the folder") from error
    except OSError as error:
        raise VoiceError(
            f"cannot read {path} ({error.strerror})", "name a WAV file that you may read"
        ) from error
    except (wave.Error, EOFError, RuntimeError) as error:  # the last: a chunk that ends outside the file
        raise VoiceError(
            f"{path} is not a 16-bit WAV file ({str(error) or 'its header is cut short'})", _convert(path, "")
        ) from error
    if rate is not None and sound.rate != rate:
        raise VoiceError(
            f"{path} has {sound.rate} samples a second, {rate} are needed", _convert(path, f"-r {rate} ")
        )
    return sound


def _sound(path: Path, file: wave.Wave_read, size: int) -> Sound:
    width, channels, promised = file.getsampwidth(), file.getnchannels(), file.getnframes()
    if width != _WIDTH:
        raise VoiceError(f"{path} has {8 * width} bits a sample, 16 are needed", _convert(path, ""))
    if channels != 1:
        raise VoiceError(f"{path} has {channels} channels, 1 is needed", _convert(path, ""))
    data = file.readframes(min(promised, size))  # a header may promise 4 GB: room for them is not asked for
    found = len(data) // _WIDTH
    if found < promised:
        raise VoiceError(
            f"{path} is cut short (its header promises {promised} samples, it has {found})",
            "copy or record it again",
        )
    if not found:
        raise VoiceError(f"{path} holds no sound (0 samples)", "record it again")
    samples = np.frombuffer(data, dtype="<i2").astype(np.float32) / np.float32(FULL_SCALE)
    return Sound(samples, file.getframerate())


def _convert(path: Path, options: str) -> str:
    """The command that makes a readable file of this one."""
    target = path.with_name(f"{path.stem}-mono16.wav")
    return f"convert it with  sox {shlex.quote(str(path))} {options}-b 16 -c 1 {shlex.quote(str(target))}"
