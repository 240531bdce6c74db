"""One recording as it goes to a worker process, here or on a cluster, and what comes back."""

import hashlib
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.commands.hear import FileEars
from trainer.commands.question import Question
from trainer.ears.recogniser import Recogniser
from trainer.errors import KNOWN_ERRORS


@dataclass(frozen=True)
class Work:
    """A recording and what was due. `samples` are 16-bit at the ears' rate as bytes: a worker needs no file.

    `was` is the verdict of the session itself: whether accepted, and the score; None if there was none.
    """

    name: str
    samples: bytes
    question: Question
    was: tuple[bool, int] | None = None
    model: str | None = None

    @cached_property
    def key(self) -> str:
        """The same for the same sound, question and model: it is judged once."""
        what = repr((self.name, sorted(asdict(self.question).items()), self.model)).encode()
        return hashlib.sha256(what + self.samples).hexdigest()


@dataclass(frozen=True)
class Graded:
    """What came of it: as `FileHeard.as_json`, with `key`, and `was` beside the new assessment."""

    key: str
    result: dict[str, Any]

    @property
    def problem(self) -> str | None:
        """Why it could not be judged, None if it was."""
        problem: str | None = self.result["problem"]
        return problem

    @classmethod
    def failed(cls, work: Work, problem: str) -> "Graded":
        """It could not be judged; the sentence says why."""
        return cls(work.key, _row(work, {"file": work.name, "problem": problem, "assessment": None}))


Judge = Callable[[Work], Graded]
_here = threading.local()
"""Each thread of a worker has ears of its own: a recogniser is used by one."""


def judge(work: Work) -> Graded:
    """Hear and judge it, in whatever process this is; what is known to go wrong is a sentence in it."""
    try:
        samples: NDArray[np.int16] = np.frombuffer(work.samples, np.int16)
        ears = FileEars(work.question, lambda: _ears(work.model))
        heard = ears.judge(Path(work.name), samples, time.perf_counter())
        return Graded(work.key, _row(work, {**heard.as_json(), "file": work.name}))
    except KNOWN_ERRORS as error:
        return Graded.failed(work, " ".join(str(error).split()))


def _ears(model: str | None) -> Recogniser:
    from trainer.compose import open_ears  # late: it loads the recogniser's library

    opened: dict[str | None, Recogniser] = _here.__dict__.setdefault("ears", {})
    if model not in opened:
        opened[model] = open_ears(Path(model) if model else None)
    return opened[model]


def _row(work: Work, heard: dict[str, Any]) -> dict[str, Any]:
    was = None if work.was is None else {"accepted": work.was[0], "score": work.was[1]}
    return {"key": work.key, **heard, "was": was}
