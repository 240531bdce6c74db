"""What `fuzzing.py` watches: errors, processor time, memory and reach of a reader, input by input."""

import json
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

from trainer.errors import KNOWN_ERRORS

ROOT = Path(__file__).parents[2]
LONGEST_S, LARGEST_MB = 2.0, 500
DEADLY_S = 10.0
"""Processor time after which an input that does not come back ends the process."""
CHANGING = {"os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.link", "os.symlink", "os.truncate", "os.chmod",
            "os.chown", "os.utime", "shutil.move", "sqlite3.connect"}  # fmt: skip
STARTING = {"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork", "socket.connect",
            "pickle.find_class"}  # fmt: skip
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


class Fault(Exception):
    """What no reader may do; not one of the program's errors."""


class Watch:
    """Counts and faults of a run, written to `out` as it goes; `limit` inputs, then the process ends."""

    def __init__(self, read: Callable[[bytes], None], out: Path, limit: int) -> None:
        self._read, self._out, self._limit = read, out, limit
        self.inputs = self.refused = self.accepted = 0
        self._slowest_s = 0.0
        self._faults: dict[str, str] = {}
        self.left: str | None = None
        """What the input at hand did outside the folder."""

    def one(self, data: bytes) -> bool:
        """Read one input; whether it was accepted."""
        (self._out / "now").write_bytes(data)
        self.left = None
        signal.setitimer(signal.ITIMER_PROF, DEADLY_S)  # no handler: the signal ends the process, also in C
        begun, before = time.process_time(), memory_mb()
        fault, accepted, refused = None, False, False
        try:
            self._read(data)
            accepted = True
        except KNOWN_ERRORS as error:
            refused = True
            if not str(error).strip():
                fault = f"{type(error).__name__} without a sentence"
        except Exception as error:
            fault = place(error)
        took, after = time.process_time() - begun, memory_mb()
        signal.setitimer(signal.ITIMER_PROF, 0)
        if took > LONGEST_S:
            fault = f"longer than {LONGEST_S} s"
        if after > LARGEST_MB and after > before:
            fault = f"more than {LARGEST_MB} MB"
        self.inputs += 1
        self.accepted += accepted
        self.refused += refused
        self._slowest_s = max(self._slowest_s, took)
        self._keep(self.left or fault, data)
        if self.inputs >= self._limit:
            os._exit(0)
        return accepted

    def _keep(self, fault: str | None, data: bytes) -> None:
        """The first input of a fault; and the figures, now and then."""
        new = fault is not None and fault not in self._faults
        if fault is not None and new:
            self._faults[fault] = f"fault-{os.getpid()}-{len(self._faults)}"
            (self._out / self._faults[fault]).write_bytes(data)
        if new or self.inputs % 200 == 0 or self.inputs >= self._limit:
            figures = {
                "inputs": self.inputs, "refused": self.refused, "accepted": self.accepted,
                "slowest_ms": self._slowest_s * 1000, "largest_mb": memory_mb(), "faults": self._faults,
            }  # fmt: skip
            (self._out / "part").write_text(json.dumps(figures))
            os.replace(self._out / "part", self._out / f"figures-{os.getpid()}.json")


def memory_mb() -> float:
    """The most that this process has had."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def place(error: BaseException) -> str:
    """The error's kind and the last line of ours that it went through: by it faults are told apart."""
    frames = [
        each for each in traceback.extract_tb(error.__traceback__) if each.filename.startswith(str(ROOT))
    ]
    where = f"{Path(frames[-1].filename).relative_to(ROOT)}:{frames[-1].lineno}" if frames else "elsewhere"
    said = f": {str(error)[:80]}" if isinstance(error, AssertionError) else ""
    return f"{type(error).__name__} at {where}{said}"


def guard(watch: Watch, inside: Path) -> None:
    """Prevents, and notes, what would write, delete, connect or start anything outside this folder."""
    roots = (f"{inside}/", "/dev/null")

    def hook(event: str, args: tuple[Any, ...]) -> None:
        if event in STARTING:
            watch.left = event
            raise Fault(event)
        paths = args[:2] if event in CHANGING else ()
        if event == "open" and (args[2] or 0) & WRITING:
            paths = args[:1]
        for path in paths:
            if isinstance(path, str | bytes | os.PathLike):
                where = os.path.abspath(os.path.join(above(event, args), os.fsdecode(path)))
                if not where.startswith(roots):
                    watch.left = f"{event} outside the folder"
                    raise Fault(watch.left)

    sys.addaudithook(hook)


def above(event: str, args: tuple[Any, ...]) -> str:
    """The folder from which a path is meant: a call may name an open one by its number."""
    number = args[-1] if event in ("os.remove", "os.rmdir", "os.mkdir") else -1
    return os.readlink(f"/proc/self/fd/{number}") if number >= 0 else os.getcwd()
