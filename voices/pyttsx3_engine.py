"""The system's own voices through pyttsx3: SAPI on Windows, the system voice on macOS, espeak-ng on Linux."""

import os
import subprocess
import sys
import threading
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from voices import espeak_library
from voices.errors import VoiceError


class Pyttsx3Engine:
    """pyttsx3, one job at a time."""

    def __init__(self, workspace: Path) -> None:
        data = espeak_library.load(workspace) if sys.platform == "linux" else None
        import pyttsx3  # late: it loads the library made ready above

        try:
            self._tts = pyttsx3.init()
        except Exception as error:  # each system's driver raises what it likes
            raise VoiceError(
                f"pyttsx3 does not start ({error})", "see that the system has a voice"
            ) from error
        self.name: str = self._tts.driver_name
        found = list(self._tts.getProperty("voices"))
        self.voices = _espeak_names(found, data) if data else _names(found)
        self._finished = threading.Event()
        self._fault: str | None = None
        self._tts.connect("finished-utterance", self._on_finished)
        self._tts.connect("error", self._on_error)
        if sys.platform == "linux":
            # It calls itself busy until its first job, and the settings would come with that.
            self._tts.proxy.setBusy(False)

    def _on_finished(self, name: str | None, completed: bool) -> None:
        if not completed:
            self._fault = "the engine broke off"
        self._finished.set()

    def _on_error(self, name: str | None, exception: Exception) -> None:
        self._fault = str(exception)

    def save(self, text: str, voice: str, rate: int, path: Path) -> None:
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
            if espeak_library.words_a_minute() != rate:
                self._fault = "it lost the rate"
        if self._fault:
            part.unlink()
            raise VoiceError(f"the voice engine failed ({self._fault})", "try another voice")
        if self.name == "nsss":
            part = _wav_from_aiff(part)
        os.replace(part, path)


def _names(found: Iterable[Any]) -> list[str]:
    """English voices by the names that the engine takes; all voices if none says it is English."""
    found = list(found)
    english = [voice for voice in found if any(str(tag).startswith("en") for tag in voice.languages or ())]
    return sorted(str(voice.id) for voice in english or found)


def _espeak_names(found: Iterable[Any], data: Path) -> list[str]:
    """espeak names its voices by file ("gmw/en-us")."""
    files = [voice.id for voice in found if any(str(tag).startswith("en") for tag in voice.languages or ())]
    return espeak_library.names(files, data)


def _wav_from_aiff(aiff: Path) -> Path:
    """The macOS engine writes AIFF whatever the name; the system's own converter makes WAV of it."""
    wav = aiff.with_suffix(".part")
    command = ["afconvert", "-f", "WAVE", "-d", "LEI16", "-c", "1", str(aiff), str(wav)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    aiff.unlink()
    return wav
