"""The child process that speaks: pyttsx3 behind lines of JSON. `voices.speaker` starts it.

    worker:  {"ready": true, "engine": "espeak", "voices": ["en-us", ...]}
    parent:  {"job": 1, "text": "...", "voice": "en-us+m3", "rate": 165, "path": "/.../1.wav"}
    worker:  {"job": 1, "done": true}   or   {"job": 1, "error": "..."}

A process of its own, because pyttsx3 can hang or end the process it lives in. It does one job at a
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
from collections.abc import Iterable
from pathlib import Path
from typing import Any, TextIO

from voices import espeak_library
from voices.errors import VoiceError

GRACE_S = 2.0
"""How long a job may still run after the input has ended."""


class _Engine:
    """pyttsx3, one job at a time."""

    def __init__(self, workspace: Path) -> None:
        data = espeak_library.load(workspace) if sys.platform == "linux" else None
        import pyttsx3  # late: it loads the library made ready above

        self._tts = pyttsx3.init()
        self.name: str = self._tts.driver_name
        self.voices = _names(self._tts.getProperty("voices"), espeak_library.variants(data) if data else [])
        self._finished = threading.Event()
        self._fault: str | None = None
        self._tts.connect("finished-utterance", self._on_finished)
        self._tts.connect("error", self._on_error)

    def _on_finished(self, name: str | None, completed: bool) -> None:
        if not completed:
            self._fault = "the engine broke off"
        self._finished.set()

    def _on_error(self, name: str | None, exception: Exception) -> None:
        self._fault = str(exception)

    def save(self, text: str, voice: str, rate: int, path: Path) -> None:
        """Write the spoken text to `path`. Raises VoiceError with the engine's reason."""
        part = path.with_name(path.name + (".aiff" if self.name == "nsss" else ".part"))
        # pyttsx3 hangs on a path that it cannot write, so that is found out here.
        part.open("wb").close()
        self._finished.clear()
        self._fault = None
        self._tts.setProperty("voice", voice)
        self._tts.setProperty("rate", rate)
        if sys.platform == "linux":
            espeak_library.settle()
        self._tts.save_to_file(text, str(part))
        self._tts.runAndWait()
        # runAndWait may return early; SAPI writes before it returns and then tells nothing.
        if self.name != "sapi5":
            self._finished.wait()
        if sys.platform == "linux":
            espeak_library.rest()  # the end of a job is told before the last of its faults can be
        if self._fault:
            part.unlink()
            raise VoiceError(f"the voice engine failed ({self._fault})", "try another voice")
        if self.name == "nsss":
            part = _wav_from_aiff(part)
        os.replace(part, path)


def _names(found: Iterable[Any], variants: list[str]) -> list[str]:
    """English voices by the names that the engine takes; all voices if none says it is English."""
    found = list(found)
    english = [voice for voice in found if any(str(tag).startswith("en") for tag in voice.languages or ())]
    if not variants:
        return sorted(str(voice.id) for voice in english or found)
    # espeak names them by file ("gmw/en-us"); Shavian only reads its own alphabet.
    bases = sorted({voice.id.rsplit("/", 1)[-1] for voice in english} - {"en-shaw"})
    return bases + [f"{base}+{variant}" for base in bases for variant in variants]


def _wav_from_aiff(aiff: Path) -> Path:
    """The macOS engine writes AIFF whatever the name; the system's own converter makes WAV of it."""
    wav = aiff.with_suffix(".part")
    command = ["afconvert", "-f", "WAVE", "-d", "LEI16", "-c", "1", str(aiff), str(wav)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    aiff.unlink()
    return wav


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


def _do(engine: _Engine, line: str) -> dict[str, object]:
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
        engine = _Engine(Path(sys.argv[1]))
    except VoiceError as error:
        _send(output, error=error.what, remedy=error.remedy)
        return 1
    except Exception as error:
        _send(output, error=f"pyttsx3 does not start ({error})", remedy="see that the system has a voice")
        return 1
    _send(output, ready=True, engine=engine.name, voices=engine.voices)
    requests: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_read_requests, args=(requests,), daemon=True).start()
    while (line := requests.get()) is not None:
        _send(output, **_do(engine, line))
    return 0


if __name__ == "__main__":
    code = main()
    sys.stderr.flush()
    # No orderly end: espeak can fail an assertion in it.
    os._exit(code)
