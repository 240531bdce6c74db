"""A microphone that has gone is found again.

PortAudio lists the devices once, when it begins: what is plugged in afterwards it often cannot open. To
begin anew it must end every stream of the program, the loudspeaker's too. So where the device cannot be
opened here, a process of its own opens it, whose PortAudio has just looked, and sends what it records.

    python -m trainer.ears.returning        records to its standard output, until nobody reads it
"""

import os
import queue
import struct
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np

from trainer.ears.errors import MicrophoneError
from trainer.ears.microphone import CapturedBlock, DeviceMicrophone, Microphone
from trainer.ears.sound_server import hears_only_the_loudspeaker

_HEAD = struct.Struct("<dI")  # capture time, number of samples of 16 bits that follow
_FIRST_BLOCK_S = 20.0
"""A process that starts on a busy machine, a device that opens, its first block."""
_FIRST_BLOCK_HERE_S = 3.0
_READ_S = 0.5
_MOST_WAITING = 300


class SeparateMicrophone:
    """The system's default microphone, recorded by a process of its own."""

    def __init__(self) -> None:
        self.dropped = 0
        self._child: subprocess.Popen[bytes] | None = None
        self._reader: threading.Thread | None = None
        self._blocks: queue.Queue[CapturedBlock | None] = queue.Queue()
        self._first: CapturedBlock | None = None

    def start(self) -> None:
        """Returns with the first block; MicrophoneError if none comes."""
        if self._child is not None:
            return
        root = str(Path(__file__).resolve().parents[2])
        paths = [root, *filter(None, [os.environ.get("PYTHONPATH")])]
        self._child = subprocess.Popen(
            [sys.executable, "-m", "trainer.ears.returning"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
            start_new_session=True,  # Ctrl-C in the terminal is not for it
        )
        self._reader = threading.Thread(target=self._take, args=(self._child,), daemon=True)
        self._reader.start()
        try:
            self._first = self._blocks.get(timeout=_FIRST_BLOCK_S)
        except queue.Empty:
            self._first = None
        if self._first is None:
            self.stop()
            raise MicrophoneError("there is no microphone", "plug it in again")

    def read(self, timeout: float) -> CapturedBlock | None:
        """As in `Microphone`."""
        first, self._first = self._first, None
        if first is not None:
            return first
        try:
            block = self._blocks.get(timeout=timeout)
        except queue.Empty:
            return None
        if block is None:
            raise MicrophoneError("the microphone has gone", "plug it in again")
        return block

    def stop(self) -> None:
        """End the process; what was not read is lost."""
        if self._child is not None and self._reader is not None:
            self._child.kill()
            self._child.wait()
            self._reader.join()
            self._child, self._reader, self._first = None, None, None
            self._blocks = queue.Queue()

    def _take(self, child: subprocess.Popen[bytes]) -> None:
        """On the reader's thread: blocks as they come, None at the end."""
        assert child.stdout is not None
        with child.stdout as out:
            while len(head := out.read(_HEAD.size)) == _HEAD.size:
                at, count = _HEAD.unpack(head)
                block = CapturedBlock(np.frombuffer(out.read(2 * count), "<i2"), at)
                if self._blocks.qsize() < _MOST_WAITING:
                    self._blocks.put(block)
                else:
                    self.dropped += 1
        self._blocks.put(None)


def reopen() -> Microphone:
    """The default microphone, open and giving sound; MicrophoneError if it is not there (yet)."""
    if hears_only_the_loudspeaker():
        raise MicrophoneError("there is no microphone", "plug it in again")
    microphone: Microphone
    try:
        microphone = DeviceMicrophone()
        microphone.start()
        if microphone.read(_FIRST_BLOCK_HERE_S) is None:
            microphone.stop()
            raise MicrophoneError("the microphone gives nothing", "plug it in again")
    except MicrophoneError:
        microphone = SeparateMicrophone()
        microphone.start()
    return microphone


def main() -> int:
    """Record until nobody reads it or the device goes."""
    out = sys.stdout.buffer
    try:
        microphone = DeviceMicrophone()
        microphone.start()
        while True:
            block = microphone.read(_READ_S)
            if block is not None:
                out.write(_HEAD.pack(block.at, len(block.samples)) + block.samples.astype("<i2").tobytes())
                out.flush()
    except (MicrophoneError, OSError):
        return 1


if __name__ == "__main__":
    os._exit(main())  # nothing more is written to a pipe that has no reader
