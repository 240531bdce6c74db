"""A flight on `fly` that nobody sits at: a fork of this process in a terminal of its own, its calls typed or spoken.

Spoken ones are sound files that come in where the blocks of a microphone do; all behind that is the program's own.
The recogniser is a part of the program's process: who kills the one kills the other.
"""

import atexit
import json
import os
import pty
import select
import signal
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from trainer import cli, compose
from trainer.commands.demo import SyntheticTrainee, Utterance
from trainer.ears.listener import as_block
from trainer.ears.microphone import BLOCK_SAMPLES, CapturedBlock
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.live.start import plan_of
from trainer.logbook.store import FILE_NAME
from trainer.settings import Settings
from voices.speaker import WorkerSpeaker

DRILL = "first_flight"
CHECK_IN = (
    "corbel tower sable two one one zero miles west three thousand five hundred information alfa"
    " request overhead touch and go"
)
RADIO_CHECK = "corbel tower sable two one radio check"
"""May be said at any time, so there is something to say from the first moment on."""
AGAIN_S = 8.0
"""What brought no call after so long is followed by the next."""
REPLY_S = 3.0
"""So long the microphone may be shut after somebody else has begun to speak."""


class FileMicrophone:
    """A `Microphone` at the boundary: noise, and what lies in a file, at the speed of a device."""

    dropped = 0

    def __init__(self, path: Path) -> None:
        self._path = path
        self._sound = np.zeros(0, np.int16)
        self._noise = np.random.default_rng(1)
        self._next_at = time.monotonic()

    def start(self) -> None:
        self._next_at = time.monotonic()

    def read(self, timeout: float) -> CapturedBlock:
        if not len(self._sound) and self._path.exists():
            self._sound = np.frombuffer(self._path.read_bytes(), np.int16)
            self._path.unlink()
        self._next_at += BLOCK_SAMPLES / SAMPLE_RATE
        time.sleep(min(timeout, max(0.0, self._next_at - time.monotonic())))
        block = self._noise.normal(0, 20, BLOCK_SAMPLES).astype(np.int16)
        said, self._sound = self._sound[:BLOCK_SAMPLES], self._sound[BLOCK_SAMPLES:]
        block[: len(said)] = said
        return CapturedBlock(block, self._next_at)

    def stop(self) -> None:
        pass


def spoken_calls() -> dict[str, Block]:
    """The two calls of the script as a microphone would give them."""
    plan, _ = plan_of(DRILL, None, "corbel", None, seed=1)
    with WorkerSpeaker() as speaker:
        trainee = SyntheticTrainee(speaker, plan, seed=1)
        return {words: as_block(trainee.sound(Utterance(words)).samples) for words in (CHECK_IN, RADIO_CHECK)}


@dataclass
class Flight:
    """One of the program's own processes, and what a reader of its logbook has seen."""

    folder: Path
    sounds: Mapping[str, Block] | None
    """Of its calls; None: they are typed."""
    pid: int
    terminal: int
    started: float = field(default_factory=time.monotonic)
    begun: float | None = None
    """When its first event was seen, wall seconds as `started`."""
    called: float | None = None
    """When its first call was."""
    last: int = 0
    """Number of the last event that is not its own."""
    seen: list[tuple[int, str]] = field(default_factory=list)
    """Number and body of every event that was in the logbook before the kill."""
    worker: int | None = None
    """The voice worker's process."""
    workers: set[int] = field(default_factory=set)
    _due: bool = False
    _said_at: float = 0.0
    _waits: bool = False
    """What was said has brought no call yet."""
    _heard_at: float = 0.0
    """When somebody else began to speak."""

    def script(self) -> None:
        """Keep the terminal empty, and say the next call once the last one is in the logbook."""
        while select.select([self.terminal], [], [], 0)[0]:
            with suppress(OSError):
                if os.read(self.terminal, 65536):
                    continue
            break
        for child in children(self.pid):
            self.worker = child
            self.workers.add(child)
        now = time.monotonic()
        for event in self._new_events():
            self.begun = self.begun or now
            match event["event"]:
                case "TraineeSpoke":
                    self._waits = False
                    self.called = self.called or now
                case "CallDue":
                    self._due = event["call"] == "check_in"
                case "TowerSpoke" | "OtherSpoke":
                    self._heard_at = now
        waits = self._waits and now - self._said_at < AGAIN_S
        if self.begun and not waits and now - self._heard_at > REPLY_S:
            self._said_at, self._waits, due, self._due = now, True, self._due, False
            self._say(CHECK_IN if due else RADIO_CHECK)

    def _new_events(self) -> list[dict[str, object]]:
        after = self.seen[-1][0] if self.seen else self.last
        with suppress(sqlite3.Error):
            kept = sqlite3.connect(f"file:{self.folder / 'data' / FILE_NAME}?mode=ro", uri=True, timeout=0.1)
            try:
                new = kept.execute(
                    "SELECT id, body FROM events WHERE id > ? ORDER BY id", (after,)
                ).fetchall()
            finally:
                kept.close()
            self.seen += new
            return [json.loads(body) for _, body in new]
        return []

    def _say(self, words: str) -> None:
        if self.sounds is None:
            with suppress(OSError):
                os.write(self.terminal, f"{words}\r".encode())
            return
        part = self.folder / "microphone.part"
        part.write_bytes(self.sounds[words].tobytes())
        part.rename(self.folder / "microphone")

    def kill_worker(self) -> bool:
        """Whether there was one."""
        if self.worker is None:
            return False
        with suppress(ProcessLookupError):
            os.kill(self.worker, signal.SIGKILL)
        return True

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)


def take_off(folder: Path, sounds: Mapping[str, Block] | None, last: int) -> Flight:
    """A flight whose data and temporary files are in this folder; what was kept there before, it goes on with."""
    for name in ("data", "tmp"):
        (folder / name).mkdir(mode=0o700, exist_ok=True)
    (folder / "microphone").unlink(missing_ok=True)
    (folder / "data" / "settings.json").write_text(Settings(recordings="wav").model_dump_json())
    pid, terminal = pty.fork()
    if pid == 0:
        if sounds is not None:
            compose.open_microphone = lambda: (FileMicrophone(folder / "microphone"), None)
        how = [] if sounds is not None else ["--typed"]
        _become(folder, ["fly", "--drill", DRILL, "--pace", "quick", *how])
    return Flight(folder, sounds, pid, terminal, last=last)


def command(folder: Path, *words: str) -> tuple[int, str]:
    """A command in the same place: its status and what it printed."""
    printed = folder / "printed"
    pid = os.fork()
    if pid == 0:
        out = os.open(printed, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        os.dup2(out, 1)
        os.dup2(out, 2)
        _become(folder, list(words))
    _, status = os.waitpid(pid, 0)
    return os.waitstatus_to_exitcode(status), printed.read_text("utf-8", "replace")


def _become(folder: Path, words: list[str]) -> None:
    """Be `patternvoice` with these words to the end."""
    os.environ |= {
        "PATTERNVOICE_DATA": str(folder / "data"), "TMPDIR": str(folder / "tmp"), "TERM": "xterm-256color",
        "PULSE_SERVER": "unix:/nonexistent",
    }  # fmt: skip
    tempfile.tempdir = None
    atexit._clear()  # what is to be done at the end of the parent is not this one's to do
    opened: Callable[..., object] = open
    sys.stdin = sys.__stdin__ = opened(0)  # type: ignore[assignment,misc]
    sys.stdout = sys.__stdout__ = opened(1, "w", buffering=1)  # type: ignore[assignment,misc]
    sys.stderr = opened(2, "w", buffering=1)  # type: ignore[assignment]
    status = 1
    try:
        cli.main(words)
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else 1
    finally:
        atexit._run_exitfuncs()
        os._exit(status)


def children(pid: int) -> list[int]:
    """Of all its threads: each has those that it began."""
    with suppress(OSError):
        lists = [path.read_text() for path in Path(f"/proc/{pid}/task").glob("*/children")]
        return [int(child) for each in lists for child in each.split()]
    return []


def is_there(pid: int) -> bool:
    """It runs; one that is dead and not yet taken note of does not."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False
