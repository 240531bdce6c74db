"""One worker process and the pipe to it: lines of JSON out and in, with a time limit."""

import contextlib
import json
import os
import queue
import subprocess
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import voices


class WorkerLost(Exception):
    """The worker ended, hung, or gave nonsense; a new one may do better."""


class WorkerProcess:
    """Starts at once. `log` gets what the libraries print; None throws it away."""

    def __init__(self, command: Sequence[str], log: Path | None) -> None:
        with open(log or os.devnull, "ab", opener=lambda name, how: os.open(name, how, 0o600)) as errors:
            self._child = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                env=_environment(),
                encoding="utf-8",
            )
        self._replies: queue.Queue[str | None] = queue.Queue()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    @property
    def pid(self) -> int:
        return self._child.pid

    def _read(self) -> None:
        assert self._child.stdout is not None
        for line in self._child.stdout:
            self._replies.put(line)
        self._replies.put(None)

    def send(self, **request: object) -> None:
        assert self._child.stdin is not None
        try:
            self._child.stdin.write(json.dumps(request) + "\n")
            self._child.stdin.flush()
        except OSError as error:
            raise WorkerLost("it has ended") from error

    def reply(self, timeout_s: float) -> dict[str, Any]:
        """The next reply. Raises WorkerLost if none comes in time or it is not a JSON object."""
        try:
            line = self._replies.get(timeout=timeout_s)
        except queue.Empty:
            raise WorkerLost(f"no answer in {timeout_s:g} s") from None
        if line is None:
            raise WorkerLost(f"it ended with code {self._child.wait()}")
        try:
            answer = json.loads(line)
        except ValueError:
            raise WorkerLost(f"it answered {line[:60]!r}") from None
        if not isinstance(answer, dict):
            raise WorkerLost(f"it answered {line[:60]!r}")
        return answer

    def stop(self, grace_s: float) -> None:
        """End its input, wait so long for it to go by itself, then kill it. Nothing is left behind."""
        assert self._child.stdin is not None
        assert self._child.stdout is not None
        with contextlib.suppress(OSError):  # it died with a request unread; the pipe is closed all the same
            self._child.stdin.close()
        try:
            self._child.wait(grace_s)
        except subprocess.TimeoutExpired:
            self._child.kill()
            self._child.wait()
        self._reader.join()
        self._child.stdout.close()


def _environment() -> dict[str, str]:
    """The parent's environment, with this copy of the package first among those that Python finds."""
    here = str(Path(voices.__file__).resolve().parent.parent)
    paths = [here, *filter(None, [os.environ.get("PYTHONPATH")])]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONIOENCODING": "utf-8"}
