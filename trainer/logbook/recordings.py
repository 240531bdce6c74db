"""The recordings on the disk: how much they take, one made smaller without loss, a piece of one."""

import os
from pathlib import Path

import numpy as np

from trainer.logbook.errors import LogbookError
from trainer.logbook.recording import Samples

FOLDER = "recordings"
"""Beside the logbook."""
LONGEST_PIECE_S = 120.0
"""A transmission is shorter; a header may promise days, for which no room is asked."""
_HIGHEST_RATE = 48_000


def bytes_taken(folder: Path) -> int:
    """By all files of this folder, 0 if it is not there."""
    try:
        return sum(entry.stat().st_size for entry in os.scandir(folder) if entry.is_file())
    except FileNotFoundError:
        return 0


def as_flac(path: Path) -> Path:
    """Write a closed WAV recording as FLAC too, about half its size, and return the new path.

    It has been read back and has the same samples; the WAV may be deleted once the logbook names the FLAC.
    `LogbookError` where it cannot be done.
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
    except (OSError, RuntimeError) as error:
        part.unlink(missing_ok=True)
        raise LogbookError(
            f"the recording {path} cannot be made a FLAC file ({error})", "it is kept as it is, as WAV"
        ) from error
    return small


def piece(path: Path, start_s: float, seconds: float) -> tuple[Samples, int]:
    """Samples and their rate of a piece of a WAV or FLAC recording; `LogbookError` if it cannot be read.

    No more than `LONGEST_PIECE_S`.
    """
    import soundfile  # as above

    try:
        with soundfile.SoundFile(path) as sound:
            rate = int(sound.samplerate)
            if sound.channels != 1 or rate > _HIGHEST_RATE:
                raise OSError("it is no recording of a session")
            sound.seek(min(max(0, round(start_s * rate)), sound.frames))
            samples = sound.read(round(min(seconds, LONGEST_PIECE_S) * rate), dtype="int16")
    except (OSError, RuntimeError) as error:
        raise LogbookError(
            f"the recording {path} cannot be read ({error})", "the rest of the logbook is not touched"
        ) from error
    return samples, rate
