"""Blocks in, calls out: end-of-speech detection and a recogniser behind one door.

The recogniser decodes while the trainee speaks. What it listens for is asked for at every key-on, so that
it is the situation of that moment; `prepare`, called between calls, has it ready by then. How long a silence
ends the call depends on the words so far.
Times are seconds of the stream of samples.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton, without
from trainer.ears.calibration import amplify
from trainer.ears.completeness import Ending, Endings
from trainer.ears.endpoint import CHUNK, HANG_OVER_S, EndOfSpeech, KeyOff, KeyOn, PushToTalk, Speech
from trainer.ears.level import Level, LevelMeter
from trainer.ears.recogniser import Block, Recogniser

HANG_OVERS_S = {Ending.COMPLETE: 0.25, Ending.OPEN: HANG_OVER_S, Ending.MIDDLE: 1.0}
"""Silence that ends the call, by how its words stand. Chosen on tests/benchmarks/end_of_speech.py."""

SETTLED_CHUNKS = 2
"""A call is complete only when its words have been the same for so many chunks: the last ones may change."""

WORDS_LAG_S = 0.3
"""A new word was spoken no longer ago than this: measured, the last one stood 0.27 s after the last sound."""


@dataclass(frozen=True)
class KeyedOn:
    """The trainee begins to speak."""

    at: float


@dataclass(frozen=True)
class HeardCall:
    """The trainee has spoken: from `began` to `ended`. The last `silent_s` of it were the wait for more."""

    heard: Heard
    began: float
    ended: float
    silent_s: float = field(default=0.0, compare=False)


@dataclass(frozen=True)
class _ListeningFor:
    situation: WordAutomaton
    sayable: WordAutomaton
    endings: Endings


class Listener:
    """`situation` gives what is plausible now; the recogniser is this listener's alone.

    While `muted`, nobody begins to be heard (half duplex); who has begun is heard out, unless `cut`.

    `hang_overs` in seconds for each `Ending`; the same one for all is a detector that knows no trade.
    `gain_db` raises all that is fed, as a `Calibration` asks for.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        situation: Callable[[], WordAutomaton],
        hang_overs: Mapping[Ending, float] = HANG_OVERS_S,
        gain_db: float = 0.0,
    ) -> None:
        self._recogniser = recogniser
        self._situation = situation
        self._hang_overs = hang_overs
        self._gain_db = gain_db
        self._meter = LevelMeter()
        self._hands_free = EndOfSpeech(judged=self._meter.judged)
        self._by_key = PushToTalk()
        self._began = 0.0
        self._listening_for: _ListeningFor | None = None
        self._prepared = False
        self._partial = ""
        self._most_words = 0
        self._settled = 0
        self.muted = False

    @property
    def speaking(self) -> bool:
        """A transmission is open."""
        return self._hands_free.open or self._by_key.open

    def partial(self) -> str:
        """The words so far: for the screen, and for how long to wait for more."""
        return self._partial if self.speaking else ""

    @property
    def level(self) -> Level:
        """Of the last seconds in which it was not muted, the gain included."""
        return self._meter.level

    def prepare(self) -> None:
        """Get ready for a call in the situation as it is now; nothing to do while one is open.

        Takes a tenth of a second when the situation is another than the last, so the thread that feeds the
        listener calls it while it waits. A key-on in a situation that is newer still gets ready for that.
        """
        if not self.speaking:
            self._get_ready()

    def press(self) -> list[KeyedOn | HeardCall]:
        """The talk key goes down: everything from here to its release is one transmission."""
        return self._bracketed([*self._hands_free.cut(), *self._by_key.press()])

    def release(self) -> list[KeyedOn | HeardCall]:
        return self._bracketed(self._by_key.release())

    def cut(self) -> list[KeyedOn | HeardCall]:
        """The sound ends here: close what is open."""
        return self._bracketed([*self._hands_free.cut(), *self._by_key.release()])

    def feed(self, samples: Block) -> list[KeyedOn | HeardCall]:
        """Hear a block; what began or ended in it."""
        samples = amplify(samples, self._gain_db)
        if self._by_key.open:
            self._meter.feed(samples)
            self._hands_free.skip(len(samples))
            return self._bracketed(self._by_key.feed(samples))
        self._by_key.skip(len(samples))
        if self.muted and not self._hands_free.open:
            self._hands_free.skip(len(samples))
            return []
        events: list[KeyedOn | HeardCall] = []
        for start in range(0, len(samples), CHUNK):  # each chunk is judged by the words before it
            events += self._bracketed(self._hands_free.feed(samples[start : start + CHUNK]))
            self._hands_free.hang_over = self._patience()
        return events

    def _patience(self) -> float:
        """The hang-over for the words so far; they are read only when the voice is silent."""
        if self._listening_for is None or not self._hands_free.quiet:
            return self._hang_overs[Ending.OPEN]
        ending = self._listening_for.endings.after(self._partial.split())
        if ending is Ending.COMPLETE and self._settled < SETTLED_CHUNKS:
            ending = Ending.OPEN
        return self._hang_overs[ending]

    def _bracketed(self, parts: list[KeyOn | Speech | KeyOff]) -> list[KeyedOn | HeardCall]:
        events: list[KeyedOn | HeardCall] = []
        for part in parts:
            match part:
                case KeyOn(at):
                    self._began = at
                    self._get_ready()
                    self._prepared = False
                    self._recogniser.key_on()
                    self._partial, self._most_words, self._settled = "", 0, 0
                    events.append(KeyedOn(at))
                case Speech(samples):
                    self._recogniser.block(samples)
                    self._take_partial()
                case KeyOff(at, silent_s):
                    events.append(HeardCall(self._recogniser.key_off(), self._began, at, silent_s))
        return events

    def _get_ready(self) -> None:
        situation = self._situation()
        if self._listening_for is None or situation is not self._listening_for.situation:
            heard = sayable(situation, self._recogniser)
            self._listening_for = _ListeningFor(situation, heard, Endings(heard))
            self._prepared = False
        if not self._prepared:
            self._recogniser.listen_for(self._listening_for.sayable)
            self._prepared = True

    def _take_partial(self) -> None:
        partial = self._recogniser.partial()
        if (words := len(partial.split())) > self._most_words:  # a weak voice in noise escapes the detector
            self._most_words = words
            self._hands_free.spoke(WORDS_LAG_S)
        self._settled = self._settled + 1 if partial == self._partial else 0
        self._partial = partial


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
