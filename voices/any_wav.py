"""WAV files from elsewhere: PCM of 16, 24 or 32 bits or floating point, any rate, any number of channels.

`wav` reads and writes what the program itself keeps; the standard library, on which that rests, knows no
floating point. The form of the file is RIFF (Microsoft, "Multimedia Programming Interface and Data
Specifications 1.0", 1991), the tags those of WAVEFORMATEX and WAVEFORMATEXTENSIBLE.
"""

import shlex
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from voices.errors import VoiceError
from voices.sound import Samples, Sound

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_UNKNOWN_LENGTH = 0x7FFF_0000
"""Programs that write into a pipe promise about 2 or 4 GB: what follows is then all there is."""
_FORMAT_BYTES = 40
"""Of the format that are looked at; a header may promise 4 GB of it."""
_RATES = range(4_000, 400_000)
_OTHER_KINDS = {
    b"fLaC": "a FLAC file",
    b"OggS": "an Ogg file",
    b"ID3": "an MP3 file",
    b"FORM": "an AIFF file",
}


@dataclass(frozen=True)
class _Format:
    tag: int
    channels: int
    rate: int
    bits: int

    @property
    def frame(self) -> int:
        """Bytes of a sample of every channel."""
        return self.channels * self.bits // 8


def read_any_wav(path: Path, longest_s: float) -> Sound:
    """The sound, channels averaged to one, at the file's own rate.

    Raises VoiceError, saying how to cure it, for a file that is missing, empty, cut short, no WAV, of a form
    that is not read, or longer than `longest_s` seconds.
    """
    try:
        with path.open("rb") as file:
            form, data = _read(path, file, longest_s)
    except FileNotFoundError as error:
        raise VoiceError(f"there is no file {path}", "check the name and the folder") from error
    except OSError as error:
        raise VoiceError(
            f"cannot read {path} ({error.strerror})", "name a WAV file that you may read"
        ) from error
    samples = _as_float(form, data).reshape(-1, form.channels).mean(axis=1, dtype=np.float64)
    if not np.isfinite(samples).all():
        raise VoiceError(f"{path} holds values that are no numbers", "record it again")
    return Sound(samples.astype(np.float32), form.rate)


def _read(path: Path, file: BinaryIO, longest_s: float) -> tuple[_Format, bytes]:
    start = file.read(12)
    if not start:
        raise VoiceError(f"{path} is empty (0 bytes)", "record it again")
    if start[:4] != b"RIFF" or start[8:] != b"WAVE":
        raise VoiceError(f"{path} is {_kind(start)}, and only WAV files are read", _convert(path))
    form = None
    while len(head := file.read(8)) == 8:
        name, size = struct.unpack("<4sI", head)
        if name == b"data" and form is not None:
            return form, _data(path, file, form, size, longest_s)
        if name == b"fmt ":
            form = _format(path, file.read(min(size, _FORMAT_BYTES)))
            file.seek(max(0, size - _FORMAT_BYTES), 1)
        else:
            file.seek(size, 1)
        file.seek(size % 2, 1)  # a chunk begins at an even place
    raise VoiceError(f"{path} is cut short (it has a header and no sound)", "copy or record it again")


def _kind(start: bytes) -> str:
    return next((kind for mark, kind in _OTHER_KINDS.items() if start.startswith(mark)), "no WAV file")


def _format(path: Path, chunk: bytes) -> _Format:
    if len(chunk) < 16:
        raise VoiceError(f"{path} is cut short (in its header)", "copy or record it again")
    tag, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", chunk)
    if tag == _EXTENSIBLE and len(chunk) >= 26:
        (tag,) = struct.unpack_from("<H", chunk, 24)
    if (tag, bits) not in _TYPES:
        raise VoiceError(
            f"{path} holds sound of a form that is not read (number {tag}, {bits} bits a sample)",
            _convert(path),
        )
    if not channels or rate not in _RATES:
        raise VoiceError(
            f"{path} has a damaged header ({channels} channels, {rate} samples a second)", "record it again"
        )
    return _Format(tag, channels, rate, bits)


def _at_most(file: BinaryIO, count: int) -> bytes:
    """So many bytes or what is left, in pieces: room for what a header only promises is not asked for."""
    pieces = []
    while count and (piece := file.read(min(count, 1 << 20))):
        pieces.append(piece)
        count -= len(piece)
    return b"".join(pieces)


def _data(path: Path, file: BinaryIO, form: _Format, promised: int, longest_s: float) -> bytes:
    most = int(longest_s * form.rate) * form.frame
    data = _at_most(file, min(promised, most + form.frame))
    if len(data) > most:
        raise VoiceError(
            f"{path} is longer than {longest_s:.0f} seconds", "cut it into single calls, one a file"
        )
    if len(data) < promised < _UNKNOWN_LENGTH:
        raise VoiceError(
            f"{path} is cut short (its header promises {promised // form.frame} samples,"
            f" it has {len(data) // form.frame})",
            "copy or record it again",
        )
    if len(data) < form.frame:
        raise VoiceError(f"{path} holds no sound (0 samples)", "record it again")
    return data[: len(data) - len(data) % form.frame]


_TYPES = {(_PCM, 16): "<i2", (_PCM, 24): "<i4", (_PCM, 32): "<i4", (_FLOAT, 32): "<f4", (_FLOAT, 64): "<f8"}
"""How the samples of a form are read; of 24 bits each is filled up to 32."""


def _as_float(form: _Format, data: bytes) -> Samples | NDArray[np.float64]:
    if form.bits == 24:
        filled = np.zeros((len(data) // 3, 4), np.uint8)
        filled[:, 1:] = np.frombuffer(data, np.uint8).reshape(-1, 3)
        data = filled.tobytes()
    values = np.frombuffer(data, _TYPES[form.tag, form.bits])
    if form.tag == _FLOAT:
        return values.astype(np.float64)
    return values / float(-np.iinfo(values.dtype).min)


def _convert(path: Path) -> str:
    """The command that makes a readable file of this one."""
    target = path.with_name(f"{path.stem}-mono16.wav")
    return f"convert it with  sox {shlex.quote(str(path))} -b 16 -c 1 {shlex.quote(str(target))}"
