"""The child process that speaks: an engine behind lines of JSON. `voices.speaker` starts it.

    python -m voices.worker [ENGINE] FOLDER

    worker:  {"ready": true, "engine": "espeak", "voices": ["en-us", ...]}
    parent:  {"job": 1, "text": "...", "voice": "en-us+m3", "rate": 165, "path": "/.../1.wav"}
    worker:  {"job": 1, "done": true}   or   {"job": 1, "error": "..."}

A process of its own, because an engine can hang or end the process it lives in. It does one job at a
time, on one thread; the WAV file appears under its name only when it is complete. It ends when its
input ends, so it never outlives the parent. What the libraries print goes to its stderr.
"""

import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TextIO

from voices.engine import USUAL, Engine, open_engine
from voices.errors import VoiceError

GRACE_S = 2.0
"""How long a job may still run after the input has ended."""


def _protocol_output() -> TextIO:
    """The real standard output; whatever else prints there, in Python or C, is sent to stderr."""
    output = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    sys.stdout = sys.stderr
    return output


def _send(output: TextIO, **reply: object) -> None:
    output.write(json.dumps(reply) + "\n")
    output.flush()


def _read_requests(requests: "queue.Queue[str | None]") -> None:
    """Queue the lines of standard input; after its end, see to it that the process ends."""
    for line in sys.stdin:
        requests.put(line)
    requests.put(None)
    time.sleep(GRACE_S)
    os._exit(1)


def _do(engine: Engine, line: str) -> dict[str, object]:
    request = json.loads(line)
    try:
        engine.save(request["text"], request["voice"], request["rate"], Path(request["path"]))
    except (VoiceError, OSError, subprocess.CalledProcessError) as error:
        return {"job": request["job"], "error": str(error)}
    return {"job": request["job"], "done": True}


def main() -> int:
    output = _protocol_output()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to answer
    try:
        engine = open_engine(sys.argv[1] if len(sys.argv) > 2 else USUAL, Path(sys.argv[-1]))
    except VoiceError as error:
        _send(output, error=error.what, remedy=error.remedy)
        return 1
    _send(output, ready=True, engine=engine.name, voices=engine.voices)
    requests: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_read_requests, args=(requests,), daemon=True).start()
    while (line := requests.get()) is not None:
        _send(output, **_do(engine, line))
    return 0


if __name__ == "__main__":
    try:
        code = main()
    except BrokenPipeError:  # the parent was killed
        code = 1
    sys.stderr.flush()
    # No orderly end: espeak can fail an assertion in it.
    os._exit(code)
