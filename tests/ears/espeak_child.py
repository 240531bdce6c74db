"""Speaks for the tests: JSON lines {"voice", "text"} in, a length and samples at 22,050 Hz out.

A process of its own, because the library keeps one global state and ends the process when it is upset.
"""

import ctypes
import json
import struct
import sys

import espeakng_loader

_SYNCHRONOUS = 2
_DO_NOT_EXIT = 0x8000
_UTF8 = 1


def main() -> None:
    library = ctypes.CDLL(espeakng_loader.get_library_path())
    data = espeakng_loader.get_data_path().encode()
    library.espeak_Initialize(_SYNCHRONOUS, 0, data, _DO_NOT_EXIT)
    heard = bytearray()

    def take(samples: "ctypes._Pointer[ctypes.c_short]", count: int, events: int) -> int:
        if samples:
            heard.extend(ctypes.string_at(samples, 2 * count))
        return 0

    callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)(
        take
    )
    library.espeak_SetSynthCallback(callback)
    for line in sys.stdin.buffer:
        job = json.loads(line)
        heard.clear()
        text = job["text"].encode()
        library.espeak_SetVoiceByName(job["voice"].encode())
        library.espeak_Synth(text, len(text) + 1, 0, 1, 0, _UTF8, None, None)
        sys.stdout.buffer.write(struct.pack("<I", len(heard)) + heard)
        sys.stdout.buffer.flush()


main()
