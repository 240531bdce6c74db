"""Playing sounds one after the other, on the sound card or nowhere.

The card's library (PortAudio) may print on file descriptor 2 at any time. A program that draws its
screen there must point that descriptor elsewhere before it makes a `DevicePlayer`.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Any, Protocol

import numpy as np

from voices.errors import VoiceError
from voices.mixing import resample
from voices.sound import Samples, Sound

_CUT_FADE_S = 0.01
_STALLED_S = 3.0  # a stream that lives asks for samples many times a second, but on a busy machine not always
_SLOWEST_START_S = 5.0
_AHEAD_S = 0.2
"""So much sound lies ready in the card. Of "high", 35 ms through PulseAudio, a busy moment of the program
took all, and the card was then silent for two seconds; "low" drops samples without a word."""


class Player(Protocol):
    """Plays each sound after those given before it."""

    @property
    def busy(self) -> bool:
        """Whether something is still to be heard."""
        ...

    @property
    def seconds_left(self) -> float:
        """Length of what was given and has not begun to play."""
        ...

    @property
    def seconds_played(self) -> float:
        """Length of all that has been played since the start."""
        ...

    @property
    def lead_s(self) -> float:
        """From when a sound is given to a player that is not busy to when it is heard, as far as is known."""
        ...

    @property
    def lost(self) -> str | None:
        """Why nothing can be played any more, as a part of a sentence; None: all is well."""
        ...

    def play(self, sound: Sound) -> None:
        """Put the sound at the end of the queue and return at once."""
        ...

    def stop(self) -> None:
        """Forget the queue and fall silent; `play` works afterwards."""
        ...

    def close(self) -> None: ...


class SilentPlayer:
    """Takes as long as a real player does and makes no sound. `clock` gives seconds."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._ends = clock()
        self._queued = 0.0

    @property
    def busy(self) -> bool:
        return self._left() > 0

    @property
    def seconds_left(self) -> float:
        return self._left()

    @property
    def seconds_played(self) -> float:
        return self._queued - self._left()

    @property
    def lead_s(self) -> float:
        return 0.0

    @property
    def lost(self) -> str | None:
        return None

    def play(self, sound: Sound) -> None:
        self._ends = max(self._ends, self._clock()) + sound.seconds
        self._queued += sound.seconds

    def stop(self) -> None:
        self._queued -= self._left()
        self._ends = self._clock()

    def close(self) -> None:
        self.stop()

    def _left(self) -> float:
        return max(0.0, self._ends - self._clock())


class PlayBuffer:
    """Samples on their way to the card: put in by the program, taken out by the card's callback."""

    def __init__(self) -> None:
        self._lock = threading.Lock()  # held for microseconds only: the callback waits for it
        self._pieces: deque[Samples] = deque()
        self._taken = 0

    @property
    def waiting(self) -> int:
        """Samples put in and not yet taken."""
        with self._lock:
            return sum(len(piece) for piece in self._pieces)

    @property
    def taken(self) -> int:
        """Samples taken so far, the silence between sounds not counted."""
        return self._taken

    def put(self, samples: Samples) -> None:
        with self._lock:
            self._pieces.append(samples)

    def take(self, count: int) -> tuple[Samples, int]:
        """The next `count` samples, filled up with silence, and how many of them were waiting."""
        block = np.zeros(count, dtype=np.float32)
        with self._lock:
            filled = 0
            while self._pieces and filled < count:
                piece = self._pieces.popleft()
                part = piece[: count - filled]
                block[filled : filled + len(part)] = part
                filled += len(part)
                if len(part) < len(piece):
                    self._pieces.appendleft(piece[len(part) :])
            self._taken += filled
        return block, filled

    def cut(self, fade: int) -> None:
        """Forget what waits, but for the next `fade` samples, which go down to silence: no click."""
        with self._lock:
            rest = np.concatenate([*self._pieces, np.zeros(0, dtype=np.float32)])[:fade]
            self._pieces.clear()
            if len(rest):
                self._pieces.append(rest * np.linspace(1, 0, len(rest), dtype=np.float32))


class DevicePlayer:
    """Plays on the system's sound card, or on the output `device` (a name or part of one).

    The stream is opened here and stays open until `close`, since opening takes up to two seconds.
    Raises VoiceError, with the line that cures it, if there is no PortAudio or no such output.
    """

    def __init__(self, device: str | None = None) -> None:
        card = _sounddevice()
        self._buffer = PlayBuffer()
        self._heard_until = 0.0
        self._asked_at = time.monotonic() + _SLOWEST_START_S
        try:
            self._rate = int(card.query_devices(device, "output")["default_samplerate"])
            self._stream = card.OutputStream(
                samplerate=self._rate,
                channels=1,
                dtype="float32",
                latency=_AHEAD_S,
                device=device,
                callback=self._fill,
            )
            self._stream.start()
        except (card.PortAudioError, ValueError) as error:
            named = f"sound output {device!r}" if device else "sound output"
            raise VoiceError(f"there is no {named} to play on ({error})", _choices(card)) from error
        self._latency_s = float(self._stream.latency)

    @property
    def busy(self) -> bool:
        # What was taken is heard only after the stream's latency.
        return self._buffer.waiting > 0 or time.monotonic() < self._heard_until

    @property
    def seconds_left(self) -> float:
        return self._buffer.waiting / self._rate

    @property
    def seconds_played(self) -> float:
        return self._buffer.taken / self._rate

    @property
    def lead_s(self) -> float:
        return self._latency_s

    @property
    def lost(self) -> str | None:
        # Some systems end the stream of a device that has gone, others never ask it for samples again.
        stalled = time.monotonic() - self._asked_at > _STALLED_S
        return "the sound output has gone" if stalled or not self._stream.active else None

    def play(self, sound: Sound) -> None:
        """As in `Player`. Raises VoiceError if the output has gone, for instance been unplugged."""
        if self.lost is not None:
            raise VoiceError(self.lost, "plug it in again")
        self._buffer.put(resample(sound, self._rate).samples)

    def stop(self) -> None:
        self._buffer.cut(round(_CUT_FADE_S * self._rate))

    def close(self) -> None:
        """Fall silent and give the card back; a second call does nothing."""
        self._stream.close()
        self._buffer.cut(0)

    def _fill(self, out: Any, frames: int, _times: Any, _status: Any) -> None:
        block, filled = self._buffer.take(frames)
        self._asked_at = time.monotonic()
        out[:, 0] = block
        if filled:
            self._heard_until = time.monotonic() + frames / self._rate + self._latency_s


def list_output_devices() -> tuple[str, ...]:
    """Names of the sound outputs, none if there is no card. Raises VoiceError without PortAudio."""
    return _outputs(_sounddevice())


def _outputs(card: Any) -> tuple[str, ...]:
    return tuple(str(found["name"]) for found in card.query_devices() if found["max_output_channels"] > 0)


def _choices(card: Any) -> str:
    outputs = _outputs(card)
    if outputs:
        return "name one of these: " + ", ".join(outputs)
    return "connect headphones or a loudspeaker, or run without sound"


def _sounddevice() -> Any:
    """The library, imported late: on Linux its wheel needs a system package."""
    try:
        import sounddevice
    except ImportError as error:
        raise VoiceError("sound output is not installed", "pip install sounddevice") from error
    except OSError as error:
        raise VoiceError(f"the sound library is missing ({error})", "apt install libportaudio2") from error
    return sounddevice
