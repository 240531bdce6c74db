"""The microphone: blocks of sound with their capture times, through PortAudio.

A device that has gone is noticed here; `returning.py` finds it again.
"""

import queue
import time
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from trainer.ears.errors import MicrophoneError
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.sound_server import hears_only_the_loudspeaker

BLOCK_SAMPLES = 512
"""Samples asked for at a time at `SAMPLE_RATE`: 32 ms. Shorter blocks drop samples with no sign of it."""

_QUEUED_BLOCKS = 300
"""About ten seconds of sound: more is waiting only where the reader has stopped."""

_STALLED_S = 3.0
"""A device that lives gives 30 blocks a second, if the machine is not busy. None for so long: it has gone."""
_SLOWEST_START_S = 5.0
_LOOK_AFTER_S = 3.0
"""So long nothing but zeros: muted, or a sound server has put something else in the microphone's place."""


_NONE_LEFT = "plug one in, allow this program to use it, or go on with typed calls"


@dataclass(frozen=True)
class CapturedBlock:
    """Samples at `SAMPLE_RATE`; `at` is the sound stream's own time in seconds when they were handed over."""

    samples: Block
    at: float


class Microphone(Protocol):
    """Gives sound from `start` to `stop`."""

    dropped: int
    """Blocks lost so far, because nobody read them in time or the device could not keep up."""

    def start(self) -> None: ...

    def read(self, timeout: float) -> CapturedBlock | None:
        """The next block, or None if none comes within `timeout` seconds; MicrophoneError if it has gone."""
        ...

    def stop(self) -> None: ...


def _sounddevice() -> Any:
    try:
        import sounddevice
    except ImportError as error:
        raise MicrophoneError("the package sounddevice is missing", "pip install sounddevice") from error
    except OSError as error:  # the Linux wheel carries no PortAudio
        raise MicrophoneError("PortAudio is not installed", "sudo apt install libportaudio2") from error
    return sounddevice


def list_input_devices() -> list[str]:
    """Names of the devices that can record; MicrophoneError if the sound library is missing."""
    return [str(device["name"]) for device in _sounddevice().query_devices() if device["max_input_channels"]]


class DeviceMicrophone:
    """A recording device. Open once and keep open: the first block may take two seconds to come."""

    def __init__(self, device: str | int | None = None) -> None:
        """`device` is a name of `list_input_devices`, or None for the system's default.

        MicrophoneError if there is no sound library or no such device.
        """
        self._driver = _sounddevice()
        try:
            self._name = str(self._driver.query_devices(device, "input")["name"])
        except (self._driver.PortAudioError, ValueError) as error:
            problem = "there is no microphone" if device is None else f"there is no microphone {device!r}"
            raise self._unusable(problem) from error
        if device is None and hears_only_the_loudspeaker():
            raise MicrophoneError("there is no microphone", _NONE_LEFT)
        self._device = device
        self._queue: queue.Queue[tuple[NDArray[np.int16], float]] = queue.Queue(_QUEUED_BLOCKS)
        self._stream: Any = None
        self._resampler: Any = None
        self._given_at = 0.0
        self._zeros = 0
        self.dropped = 0

    def start(self) -> None:
        """Open the device, at its own rate if it refuses ours; MicrophoneError if it cannot be opened."""
        if self._stream is not None:
            return
        try:
            try:
                self._open(SAMPLE_RATE)
            except self._driver.PortAudioError:
                rate = round(self._driver.query_devices(self._device, "input")["default_samplerate"])
                import soxr

                self._resampler = soxr.ResampleStream(rate, SAMPLE_RATE, 1, dtype="int16")
                self._open(rate)
        except self._driver.PortAudioError as error:
            raise self._unusable(f"the microphone {self._name!r} cannot be opened") from error

    def read(self, timeout: float) -> CapturedBlock | None:
        """The next block, or None if none comes within `timeout` seconds; MicrophoneError if it has gone."""
        try:
            samples, at = self._queue.get(timeout=timeout)
        except queue.Empty:
            # Some systems end the stream of a device that has gone, others give no more blocks.
            if not self._stream.active or time.monotonic() - self._given_at > _STALLED_S:
                raise MicrophoneError("the microphone has gone", "plug it in again") from None
            return None
        self._zeros = 0 if samples.any() else self._zeros + len(samples)
        if self._zeros > _LOOK_AFTER_S * self._stream.samplerate:
            self._zeros = 0
            if self._device is None and hears_only_the_loudspeaker():
                raise MicrophoneError("the microphone has gone", "plug it in again")
        if self._resampler is not None:
            samples = self._resampler.resample_chunk(samples)
        return CapturedBlock(samples, at)

    def stop(self) -> None:
        """Close the device; what was not read is lost."""
        if self._stream is not None:
            self._stream.close()
            self._stream = self._resampler = None
            self._queue.queue.clear()

    def _open(self, rate: int) -> None:
        stream = self._driver.InputStream(
            samplerate=rate,
            blocksize=BLOCK_SAMPLES * rate // SAMPLE_RATE,
            device=self._device,
            channels=1,
            dtype="int16",
            latency="high",  # "low" loses samples without telling
            callback=self._capture,
        )
        self._stream = stream
        self._zeros, self._given_at = 0, time.monotonic() + _SLOWEST_START_S
        stream.start()

    def _capture(self, sound: NDArray[np.int16], frames: int, times: Any, status: Any) -> None:
        # On PortAudio's thread: copy, and nothing else. `times` is wall time on some systems.
        self._given_at = time.monotonic()
        if status and status.input_overflow:
            self.dropped += 1
        try:
            self._queue.put_nowait((sound[:, 0].copy(), self._stream.time))
        except queue.Full:
            self.dropped += 1

    def _unusable(self, problem: str) -> MicrophoneError:
        names = list_input_devices()
        if names:
            remedy = f"choose another ({', '.join(names)}), or end the program that holds it"
        else:
            remedy = _NONE_LEFT
        return MicrophoneError(problem, remedy)
