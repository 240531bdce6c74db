"""A piece of mono sound in memory, and the port that everything that speaks stands behind."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
"""Mono samples, full scale is -1..1."""


@dataclass(frozen=True)
class Sound:
    """`rate` in samples a second."""

    samples: Samples
    rate: int

    @property
    def seconds(self) -> float:
        return len(self.samples) / self.rate


@dataclass(frozen=True)
class Voice:
    """Who speaks: a voice of an engine, words a minute, and semitones above that voice's own pitch.

    A higher pitch also makes the speaker smaller (his resonances move with it), so that one voice of a system
    that has few gives several people.
    """

    name: str
    words_a_minute: int = 165
    semitones: float = 0.0


class Speaker(Protocol):
    """Turns text into sound."""

    def voices(self) -> tuple[str, ...]:
        """Names that `speak` accepts."""
        ...

    def speak(self, text: str, voice: Voice) -> Sound: ...

    def close(self) -> None: ...
