"""The microphone's thread: blocks to the listener, what it heard to whoever draws.

A microphone that goes is told once; while it is away the thread looks for it, and goes on with it.
Nothing of the session or the screen is touched from here; `post` must be safe to call from any thread.
"""

import math
import queue
import threading
import traceback
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton
from trainer.ears.endpoint import MAX_SECONDS
from trainer.ears.errors import MicrophoneError
from trainer.ears.level import FLOOR_DBFS, Trouble
from trainer.ears.listener import HeardCall, KeyedOn, Listener
from trainer.ears.microphone import Microphone
from trainer.ears.recogniser import SAMPLE_RATE, Block, Recogniser
from trainer.ears.returning import reopen
from trainer.errors import KNOWN_ERRORS

_READ_TIMEOUT_S = 0.2
_MOST_WAITING = 400
"""Blocks that can lie before the key; a microphone that gives them without end is not waited for."""
_LONGEST_END_S = 5.0
_REST_S = 0.25
"""Between two looks while the clock stands and nobody speaks: to wake costs more than to hear."""
RETRY_S = 2.0
BACK = "The microphone is back."


@dataclass(frozen=True)
class TraineeKeyed:
    """The trainee begins to speak."""


@dataclass(frozen=True)
class PartialWords:
    """The words so far, for the screen only."""

    words: str


@dataclass(frozen=True, eq=False)
class TraineeSaid:
    """The trainee has spoken; `samples` is the sound of it, as the microphone gave it, and the last
    `silent_s` of it are silence."""

    heard: Heard
    samples: Block
    silent_s: float = 0.0


@dataclass(frozen=True)
class MicrophoneTrouble:
    """Something is wrong with the level of the voice: sentences with their remedies; none: no more."""

    sentences: tuple[str, ...]


@dataclass(frozen=True)
class MicrophoneGone:
    """Nothing is heard until `MicrophoneBack`."""

    reason: str


@dataclass(frozen=True)
class MicrophoneBack:
    """It is heard again."""


@dataclass(frozen=True)
class EarsLost:
    """Nothing more will be heard."""

    reason: str


EarsEvent = (
    TraineeKeyed | PartialWords | TraineeSaid | MicrophoneTrouble | MicrophoneGone | MicrophoneBack | EarsLost
)


class Tape:
    """The last seconds of the microphone, so that what was said can be kept. Times: seconds of the stream."""

    def __init__(self, seconds: float = MAX_SECONDS + 2.0) -> None:
        self._longest = round(seconds * SAMPLE_RATE)
        self._blocks: deque[Block] = deque()
        self._held = 0
        self._passed = 0

    def add(self, block: Block) -> None:
        self._blocks.append(block)
        self._held += len(block)
        self._passed += len(block)
        while self._held - len(self._blocks[0]) >= self._longest:
            self._held -= len(self._blocks.popleft())

    def between(self, began: float, ended: float) -> Block:
        """What is still held of it."""
        first = self._passed - self._held
        held = np.concatenate([*self._blocks, np.zeros(0, np.int16)])
        start, end = (max(0, round(second * SAMPLE_RATE) - first) for second in (began, ended))
        return held[start:end]


class Hearing:
    """Reads the microphone until `stop`. `situation`, `muted` and `resting` are asked from the thread.

    While `resting`, as in a pause, nobody is in a hurry, and the thread wakes a few times a second only.

    `gain_db` raises what is heard, not what is kept. What is wrong with the level is told after a call, once.
    `reopen` gives the microphone anew, running, when it has gone, or raises MicrophoneError; tried every
    `RETRY_S`. `wait` sleeps so many seconds between two attempts, and says whether to give up.
    """

    def __init__(
        self,
        microphone: Microphone,
        recogniser: Recogniser,
        situation: Callable[[], WordAutomaton],
        muted: Callable[[], bool],
        post: Callable[[EarsEvent], None],
        gain_db: float = 0.0,
        reopen: Callable[[], Microphone] = reopen,
        wait: Callable[[float], bool] | None = None,
        resting: Callable[[], bool] = lambda: False,
    ) -> None:
        self._microphone = microphone
        self._listener = Listener(recogniser, situation, gain_db=gain_db)
        self._reopen = reopen
        self._muted = muted
        self._resting = resting
        self._post = post
        self._keys: queue.SimpleQueue[bool] = queue.SimpleQueue()
        self._tape = Tape()
        self._partial = ""
        self.level_dbfs = FLOOR_DBFS
        """Of the last block, without the gain: for a meter. Read from any thread."""
        self._troubles: tuple[Trouble, ...] = ()
        self._stopping = threading.Event()
        self._letting_go = threading.Event()
        self._wait = wait or self._stopping.wait
        self._thread = threading.Thread(target=self._run, name="hearing", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def press(self) -> None:
        """The talk key goes down."""
        self._keys.put(True)

    def release(self) -> None:
        self._keys.put(False)

    def let_go(self) -> None:
        """What is being said is not for the session: hear no more of it."""
        self._letting_go.set()

    def stop(self) -> None:
        """Close the microphone; returns when the thread has ended, or a device holds it for long."""
        self._stopping.set()
        self.join(_LONGEST_END_S)

    def join(self, timeout: float | None = None) -> None:
        """Wait for the end of the thread, if it has begun."""
        if self._thread.ident is not None:
            self._thread.join(timeout)

    def _run(self) -> None:
        step: Callable[[], None] = self._microphone.start
        try:
            while not self._stopping.is_set():
                try:
                    step()
                except MicrophoneError as error:
                    self._do_without(error)
                step = self.listen
        except KNOWN_ERRORS as error:
            self._post(EarsLost(str(error)))
        except Exception as error:  # a thread must not end unseen: the screen would go on saying "listening"
            traceback.print_exc()
            self._post(EarsLost(f"The ears have failed ({error!r})."))
        finally:
            self._microphone.stop()

    def listen(self) -> None:
        """Take one block, and the talk keys that came before it. The thread does nothing else.

        Between calls it gets ready for the situation as it is, mostly while the tower still speaks. What
        the microphone gives in the meantime waits in its queue.
        """
        if not self._keys.empty():  # what was said before the key moved is still waiting
            self._take_what_waits()
        while not self._keys.empty():
            self._told(self._listener.press() if self._keys.get() else self._listener.release())
        if self._letting_go.is_set():
            self._letting_go.clear()
            self._listener.cut()
        self._listener.prepare()
        if self._resting() and not self._listener.speaking:
            self._wait(_REST_S)
            self._take_what_waits()
        else:
            self._take(_READ_TIMEOUT_S)

    def _take_what_waits(self) -> None:
        for _ in range(_MOST_WAITING):
            if not self._take(0.0):
                break

    def _take(self, timeout: float) -> bool:
        """Hear one block; there was one within so many seconds."""
        block = self._microphone.read(timeout)
        if block is None:
            return False
        self._tape.add(block.samples)
        self.level_dbfs = _level_dbfs(block.samples)
        self._listener.muted = self._muted()
        self._told(self._listener.feed(block.samples))
        partial = self._listener.partial()
        if partial != self._partial:
            self._partial = partial
            self._post(PartialWords(partial))
        return True

    def _do_without(self, error: MicrophoneError) -> None:
        """Until the microphone is back, or the end. What was being said is let go."""
        self._microphone.stop()
        self.level_dbfs = FLOOR_DBFS
        self._listener.cut()
        self._post(MicrophoneGone(str(error)))
        while not self._wait(RETRY_S) and not self._stopping.is_set():
            try:
                self._microphone = self._reopen()
            except MicrophoneError:
                continue
            while not self._keys.empty():  # a key that went down as it went is not held any more
                self._keys.get()
            self._post(MicrophoneBack())
            return

    def _told(self, events: list[KeyedOn | HeardCall]) -> None:
        for event in events:
            match event:
                case KeyedOn():
                    self._post(TraineeKeyed())
                case HeardCall(heard, began, ended, silent_s):
                    self._post(TraineeSaid(heard, self._tape.between(began, ended), silent_s))
                    self._tell_troubles()

    def _tell_troubles(self) -> None:
        troubles = self._listener.level.troubles
        if troubles != self._troubles:
            self._troubles = troubles
            self._post(MicrophoneTrouble(tuple(trouble.value for trouble in troubles)))


def _level_dbfs(samples: Block) -> float:
    power = float(np.var(samples / 32768)) if len(samples) else 0.0
    return max(FLOOR_DBFS, 10.0 * math.log10(power)) if power > 0.0 else FLOOR_DBFS
