"""What a worker process drives: the port that each engine stands behind, and how one is found by name."""

import importlib
from pathlib import Path
from typing import Protocol

from voices.errors import VoiceError

USUAL = "pyttsx3"
_MAKERS = {
    "pyttsx3": ("voices.pyttsx3_engine", "Pyttsx3Engine"),
    "piper": ("voices.piper_engine", "PiperEngine"),
}


class Engine(Protocol):
    """One job at a time, on one thread. `name` says whose ways of spelling and pausing it has."""

    name: str
    voices: list[str]

    def save(self, text: str, voice: str, rate: int, path: Path) -> None:
        """Write the spoken text to `path`, whole or not at all; `rate` in words a minute.

        Raises VoiceError with the engine's reason.
        """
        ...


def open_engine(name: str, workspace: Path) -> Engine:
    """The engine of this name; `workspace` is a folder for what it needs. Raises VoiceError."""
    if name not in _MAKERS:
        raise VoiceError(f"there is no voice engine {name!r}", f"use one of these: {', '.join(_MAKERS)}")
    module, maker = _MAKERS[name]
    engine: Engine = getattr(importlib.import_module(module), maker)(workspace)
    return engine
