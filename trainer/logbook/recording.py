"""The sound of a session as a WAV file that can be played at every moment of its making."""

import os
import wave
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from trainer.logbook.errors import LogbookError

Samples = NDArray[np.int16]
"""Mono samples."""

LONGEST_S = 12 * 3600.0
"""Seconds that one recording may hold: a WAV header counts 4 GiB, and a drill is minutes."""

_JOIN_S = 0.05
"""Gaps shorter than this are the jitter of a block's time stamp, not silence."""

_SILENCE_S = 10
"""Seconds of silence written at once."""


class SessionRecording:
    """A mono 16-bit WAV file on the session's clock.

    After each `append` the header and the samples are with the system, so a program that is killed
    leaves a file that plays. A failure is raised once; after it the recording takes nothing more
    and the session can go on.
    """

    def __init__(self, path: Path, rate: int = 16_000, most_bytes: int | None = None) -> None:
        """Make the file; `rate` in samples a second, `most_bytes` that it may grow to (None: no limit but
        that of 12 hours). `LogbookError` if that cannot be done."""
        self.path = path
        self.rate = rate
        self._most_bytes = most_bytes
        self._frames = 0
        self._failed = False
        try:
            # The trainee's voice is for the trainee: 0600. "x": a recording is never written over.
            self._file: BinaryIO = open(path, "xb", opener=lambda name, flags: os.open(name, flags, 0o600))  # noqa: SIM115
        except FileExistsError:
            raise LogbookError(f"there is a recording {path} already", "choose another name") from None
        except OSError as error:
            self._failed = True
            raise self._failure(error) from error
        self._wave = wave.open(self._file, "wb")  # noqa: SIM115 - closed by close()
        self._wave.setnchannels(1)
        self._wave.setsampwidth(2)
        self._wave.setframerate(rate)
        self._write(np.zeros(0, np.int16))

    @property
    def seconds(self) -> float:
        """How long the recording is now."""
        return self._frames / self.rate

    def append(self, samples: Samples, at: float) -> float | None:
        """Samples that sounded from `at`, session seconds; silence fills what lies before them.

        Sound that began while the last was still on is put behind it, so that nothing is lost. Returns the
        second of the recording at which it lies, None where nothing more is taken.
        """
        if self._failed:
            return None
        if at + len(samples) / self.rate > LONGEST_S:
            self._abandon()
            raise LogbookError(
                f"the recording {self.path} is longer than {LONGEST_S / 3600:g} hours", "start a new session"
            )
        grown = 2 * (max(self._frames, round(at * self.rate)) + len(samples))
        if self._most_bytes is not None and grown > self._most_bytes:
            self._abandon()
            raise LogbookError(
                f"the recordings have come to their limit with {self.path}",
                "delete old ones (patternvoice logbook delete) or raise it (patternvoice logbook recordings)",
            )
        gap = round(at * self.rate) - self._frames
        if gap >= _JOIN_S * self.rate:
            while gap > 0:
                part = min(gap, _SILENCE_S * self.rate)
                self._write(np.zeros(part, np.int16))
                gap -= part
        start = self.seconds
        self._write(samples)
        return start

    def close(self) -> None:
        """End the file. Safe to call twice."""
        if self._file.closed:
            return
        try:
            self._wave.close()
            self._file.close()
        except OSError as error:
            self._abandon()
            raise self._failure(error) from error

    def _write(self, samples: Samples) -> None:
        try:
            # writeframes corrects the header each time, after the samples: the file is always playable.
            self._wave.writeframes(samples.astype(np.int16, copy=False).tobytes())
            self._file.flush()
        except OSError as error:
            self._abandon()
            raise self._failure(error) from error
        self._frames += len(samples)

    def _abandon(self) -> None:
        """Take nothing more and let go of the file; what it holds so far plays."""
        self._failed = True
        # Both try once more to write what the disk did not take.
        with suppress(OSError):
            self._wave.close()
        with suppress(OSError):
            self._file.close()

    def _failure(self, error: OSError) -> LogbookError:
        why = error.strerror or str(error)
        return LogbookError(
            f"the recording {self.path} cannot be written ({why})",
            "make room on the disk or name another folder; the session goes on without it",
        )
