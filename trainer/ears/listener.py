"""Blocks in, calls out: end-of-speech detection and a recogniser behind one door.

The recogniser decodes while the trainee speaks. What it listens for is asked for at every key-on,
so that it is the situation of that moment. Times are seconds of the stream of samples.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton, without
from trainer.ears.endpoint import CHUNK, EndOfSpeech, KeyOff, KeyOn, PushToTalk, Speech
from trainer.ears.recogniser import Block, Recogniser


@dataclass(frozen=True)
class KeyedOn:
    """The trainee begins to speak."""

    at: float


@dataclass(frozen=True)
class HeardCall:
    """The trainee has spoken: from `began` to `ended`."""

    heard: Heard
    began: float
    ended: float


class Listener:
    """`situation` gives what is plausible now. While `muted`, nothing is heard (half duplex)."""

    def __init__(self, recogniser: Recogniser, situation: Callable[[], WordAutomaton]) -> None:
        self._recogniser = recogniser
        self._situation = situation
        self._hands_free = EndOfSpeech()
        self._by_key = PushToTalk()
        self._began = 0.0
        self.muted = False

    @property
    def speaking(self) -> bool:
        """A transmission is open."""
        return self._hands_free.open or self._by_key.open

    def partial(self) -> str:
        """The words so far, for the screen only."""
        return self._recogniser.partial() if self.speaking else ""

    def press(self) -> list[KeyedOn | HeardCall]:
        """The talk key goes down: everything from here to its release is one transmission."""
        return self._bracketed([*self._hands_free.cut(), *self._by_key.press()])

    def release(self) -> list[KeyedOn | HeardCall]:
        return self._bracketed(self._by_key.release())

    def feed(self, samples: Block) -> list[KeyedOn | HeardCall]:
        """Hear a block; what began or ended in it."""
        if self._by_key.open:
            self._hands_free.skip(len(samples))
            return self._bracketed(self._by_key.feed(samples))
        self._by_key.skip(len(samples))
        if self.muted:
            cut = self._hands_free.cut()
            self._hands_free.skip(len(samples))
            return self._bracketed(cut)
        return self._bracketed(self._hands_free.feed(samples))

    def _bracketed(self, parts: list[KeyOn | Speech | KeyOff]) -> list[KeyedOn | HeardCall]:
        events: list[KeyedOn | HeardCall] = []
        for part in parts:
            match part:
                case KeyOn(at):
                    self._began = at
                    self._recogniser.listen_for(sayable(self._situation(), self._recogniser))
                    self._recogniser.key_on()
                    events.append(KeyedOn(at))
                case Speech(samples):
                    self._recogniser.block(samples)
                case KeyOff(at):
                    events.append(HeardCall(self._recogniser.key_off(), self._began, at))
        return events


def as_block(samples: NDArray[np.float32]) -> Block:
    """Samples of full scale -1..1 as the ears take them."""
    return (np.clip(samples, -1.0, 1.0) * 32767).astype(np.int16)


def hear_whole(samples: Block, recogniser: Recogniser, situation: WordAutomaton) -> Heard:
    """A recording as one transmission; nothing is heard where the end-of-speech detector finds no voice."""
    padded = np.concatenate([samples, np.zeros(CHUNK, np.int16)])
    if not any(isinstance(part, KeyOn) for part in EndOfSpeech().feed(padded)):
        return Heard()
    recogniser.listen_for(sayable(situation, recogniser))
    recogniser.key_on()
    recogniser.block(samples)
    return recogniser.key_off()


def sayable(situation: WordAutomaton, recogniser: Recogniser) -> WordAutomaton:
    """The situation without the words that this recogniser can never hear; `compose` reports those."""
    missing = frozenset(recogniser.missing_words(situation.words))
    return without(situation, missing) if missing else situation
