"""The sound of the trainee's own calls, to be heard again after the flight.

In a nameless file rather than in memory, where an hour of calls would be some 20 MB. The file goes with the
process, whatever that dies of. Without room for it a call cannot be listened to, which is no reason to stop a
flight.
"""

import tempfile
from contextlib import suppress
from typing import IO

import numpy as np

from trainer.ears.recogniser import Block
from trainer.errors import TrainerError
from trainer.scratch import scratch_folder


class OwnCalls:
    """Sounds by the number of the call, from 0."""

    def __init__(self) -> None:
        self._file: IO[bytes] | None = None
        self._places: dict[int, tuple[int, int]] = {}

    def keep(self, number: int, samples: Block) -> None:
        """Keep it, if there is room."""
        with suppress(OSError, TrainerError):
            if self._file is None:
                self._file = tempfile.TemporaryFile(dir=scratch_folder())  # noqa: SIM115  open as long as the flight
            start = self._file.seek(0, 2)
            self._file.write(samples.tobytes())
            self._file.flush()
            self._places[number] = start, samples.nbytes

    def __contains__(self, number: object) -> bool:
        return number in self._places

    def get(self, number: int) -> Block | None:
        """The sound of this call; None where there is none."""
        if self._file is None or number not in self._places:
            return None
        start, size = self._places[number]
        self._file.seek(start)
        return np.frombuffer(self._file.read(size), np.int16)

    def close(self) -> None:
        """Forget all."""
        self._places.clear()
        if self._file is not None:
            self._file.close()
            self._file = None
