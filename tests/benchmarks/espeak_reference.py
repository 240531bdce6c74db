"""espeak-ng's library driven directly and in step with us (speak_lib.h): what a worker's speech is held against.

It is no driver of the product: it speaks no more steadily than pyttsx3 in its worker (`speaking.py`).
"""

import ctypes
from pathlib import Path
from typing import Any

import numpy as np

from voices import espeak_library
from voices.sound import Sound
from voices.wav import FULL_SCALE

_SYNCHRONOUS, _DO_NOT_EXIT, _RATE = 2, 0x8000, 1
_UTF8, _END_PAUSE = 1, 0x1000  # what pyttsx3 asks for


class EspeakReference:
    """Speaks at once, in this process."""

    def __init__(self, workspace: Path) -> None:
        data = espeak_library.load(workspace)
        self._library = ctypes.CDLL("libespeak-ng.so.1")
        self._sound_rate = self._library.espeak_Initialize(_SYNCHRONOUS, 0, str(data).encode(), _DO_NOT_EXIT)
        if self._sound_rate <= 0:
            raise RuntimeError(f"the library does not start (code {self._sound_rate})")
        self._heard = bytearray()
        self._callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int, ctypes.c_void_p)(
            self._take
        )
        self._library.espeak_SetSynthCallback(self._callback)

    def _take(self, samples: int | None, count: int, events: Any) -> int:
        if samples:
            self._heard.extend(ctypes.string_at(samples, 2 * count))
        return 0

    def speak(self, text: str, voice: str, rate: int) -> Sound:
        """`text` as the engine is given it, `rate` in words a minute. RuntimeError where the library refuses."""
        espeak_library.settle()
        self._heard.clear()
        words = text.encode() + b"\0"
        self._must(self._library.espeak_SetVoiceByName(voice.encode()), f"to take the voice {voice}")
        self._must(self._library.espeak_SetParameter(_RATE, rate, 0), f"to speak {rate} words a minute")
        flags = _UTF8 | _END_PAUSE
        self._must(self._library.espeak_Synth(words, len(words), 0, 1, 0, flags, None, None), "to speak")
        samples = np.frombuffer(bytes(self._heard), "<i2").astype(np.float32) / np.float32(FULL_SCALE)
        return Sound(samples, self._sound_rate)

    def _must(self, code: int, task: str) -> None:
        if code != 0:
            raise RuntimeError(f"the library failed {task} (code {code})")
