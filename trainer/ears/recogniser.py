"""The port through which the program hears: a recogniser, whatever engine is behind it.

A transmission is bracketed: `listen_for` names the situation, `key_on` opens, every `block` is
decoded while it is spoken, `key_off` closes and gives what was heard. What takes time is done in
`listen_for`, best before anybody speaks, so that `key_on` costs nothing.
"""

from collections.abc import Iterable
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton

SAMPLE_RATE = 16_000
"""Samples a second of everything a recogniser or the end-of-speech detector is given."""

Block = NDArray[np.int16]
"""Mono samples at `SAMPLE_RATE`."""


class Recogniser(Protocol):
    """Hears one transmission at a time."""

    name: str

    def missing_words(self, words: Iterable[str]) -> list[str]:
        """The words that this recogniser can never hear, sorted."""
        ...

    def listen_for(self, situation: WordAutomaton) -> None:
        """Make these word sequences plausible from the next `key_on` on, and get all ready for it."""
        ...

    def key_on(self) -> None: ...

    def block(self, samples: Block) -> None:
        """Decode one block; returns at once, keeps nothing of the samples."""
        ...

    def partial(self) -> str:
        """The words so far, for the screen only."""
        ...

    def key_off(self) -> Heard: ...
