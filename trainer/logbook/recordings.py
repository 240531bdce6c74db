"""The recordings on the disk: how much they take, one made smaller without loss, a piece of one."""

import os
from pathlib import Path

import numpy as np

from trainer.logbook.errors import LogbookError
from trainer.logbook.recording import Samples

FOLDER = "recordings"
"""Beside the logbook."""


def bytes_taken(folder: Path) -> int:
    """By all files of this folder, 0 if it is not there."""
    try:
        return sum(entry.stat().st_size for entry in os.scandir(folder) if entry.is_file())
    except FileNotFoundError:
        return 0


def as_flac(path: Path) -> Path:
    """Turn a closed WAV recording into FLAC, about half its size, and return the new path.

    The WAV is only deleted once the FLAC, read back, has the same samples. `LogbookError` where it cannot
    be done; the WAV is then kept.
    """
    import soundfile  # late: it loads a library

    small = path.with_suffix(".flac")
    part = small.with_name(f"{small.name}.part")
    try:
        samples, rate = soundfile.read(path, dtype="int16")
        os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600))
        soundfile.write(part, samples, rate, format="FLAC", subtype="PCM_16")
        if not np.array_equal(soundfile.read(part, dtype="int16")[0], samples):
            raise OSError("it does not read back as it was")
        os.replace(part, small)
        path.unlink()
    except (OSError, RuntimeError) as error:
        part.unlink(missing_ok=True)
        raise LogbookError(
            f"the recording {path} cannot be made a FLAC file ({error})", "it is kept as it is, as WAV"
        ) from error
    return small


def piece(path: Path, start_s: float, seconds: float) -> tuple[Samples, int]:
    """Samples and their rate of a piece of a WAV or FLAC recording; `LogbookError` if it cannot be read."""
    import soundfile  # as above

    try:
        with soundfile.SoundFile(path) as sound:
            rate = int(sound.samplerate)
            sound.seek(min(max(0, round(start_s * rate)), sound.frames))
            samples = sound.read(round(seconds * rate), dtype="int16")
    except (OSError, RuntimeError) as error:
        raise LogbookError(
            f"the recording {path} cannot be read ({error})", "the rest of the logbook is not touched"
        ) from error
    return samples, rate
