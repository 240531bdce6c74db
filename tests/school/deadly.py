"""Judges for tests, importable by worker processes: one that signs what it has done, and one that kills its process."""

import os
import time
from pathlib import Path

from trainer.school.regrading import Graded, Work

TAKES_S = 0.25


def _graded(work: Work) -> Graded:
    return Graded(
        work.key, {"file": work.name, "problem": None, "assessment": None, "was": None, "key": work.key}
    )


def judge_and_sign(folder: str, work: Work) -> Graded:
    """Takes a while, then leaves a file for each time that it was done to the end."""
    time.sleep(TAKES_S)
    Path(folder, f"{work.name}.{os.getpid()}.{time.monotonic_ns()}").touch()
    return _graded(work)


def judge_or_die(work: Work) -> Graded:
    """The process dies over what is called deadly."""
    if work.name == "deadly":
        os._exit(9)
    return _graded(work)
