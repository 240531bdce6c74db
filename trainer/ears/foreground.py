"""Who is near: a microphone hears the speaker at it louder than the people behind him.

A voice that is both far below the speaker's own and hardly above what the room holds anyway is somebody
else's. Both must be so: in a quiet room the end of a sentence sinks by 15 dB and more, and is the speaker's
all the same. Figures were chosen on the benchmarks of hearing and of the end of speech, see DEVELOPERS.md.
Levels are in dB of any one reference. Pure.
"""

from collections import deque
from collections.abc import Iterable, Sequence
from itertools import islice, takewhile

import numpy as np

from phraseology.heard import HeardWord
from trainer.ears.recogniser import SAMPLE_RATE, Block

UNDER_VOICE_DB = 8.0
OVER_ROOM_DB = 5.0
FRAME = 320
"""Samples of a frame whose level is taken: 20 ms."""

_VOICE = 75  # percentiles: the louder words of a voice, the louder frames of a word
_WORD = 80
_SURE = 0.99  # a word so certain stays
_LEAST_FRAMES = 5  # of the room, to say anything about it
_ROOM = 25  # percentile of the last chunks, voice and all
_TALK = 0.5  # share of the room's chunks with a voice in them
_MEMORY = 188  # chunks: six seconds


def is_behind(level: float, voice: float, room: float) -> bool:
    """Whether a sound of this level belongs to the room when the speaker's voice and the room are so loud."""
    return level < min(room + OVER_ROOM_DB, voice - UNDER_VOICE_DB)


def level_db(samples: Block) -> float:
    """Of the whole block, over one step of 16 bits."""
    return 10 * float(np.log10(np.mean(samples.astype(np.float64) ** 2) + 1))


class Levels:
    """The levels of a transmission, frame by frame."""

    def __init__(self) -> None:
        self._levels: list[float] = []
        self._rest = np.empty(0, np.int16)

    def feed(self, samples: Block) -> None:
        """Blocks of any length, in order."""
        waiting = np.concatenate([self._rest, samples])
        whole = len(waiting) - len(waiting) % FRAME
        power = np.mean(waiting[:whole].reshape(-1, FRAME).astype(np.float64) ** 2, axis=1)
        self._levels += (10 * np.log10(power + 1)).tolist()
        self._rest = waiting[whole:]

    def of_the_speaker(self, words: Sequence[HeardWord]) -> tuple[HeardWord, ...]:
        """The words without those at both ends that somebody behind the speaker said."""
        levels = np.array(self._levels)
        spoken = np.zeros(len(levels), bool)
        loudness = []
        for word in words:
            frames = _frames(word, len(levels))
            spoken[frames] = True
            loudness.append(float(np.percentile(levels[frames], _WORD)))
        if len(words) < 2 or np.count_nonzero(~spoken) < _LEAST_FRAMES:
            return tuple(words)
        voice, room = float(np.percentile(loudness, _VOICE)), float(np.median(levels[~spoken]))
        behind = [
            word.confidence < _SURE and is_behind(level, voice, room)
            for word, level in zip(words, loudness, strict=True)
        ]
        first, last = _leading(behind), _leading(reversed(behind))
        return tuple(words[first : len(words) - last])


class Nearness:
    """Whether the latest chunk of a stream may be the speaker's own, as far as its level tells.

    The voice is what was loud in this transmission, before it in the one before; the room is what was quiet
    in the last seconds. Only a room in which somebody talks has anybody behind the speaker.
    """

    def __init__(self) -> None:
        self._levels: deque[float] = deque(maxlen=_MEMORY)
        self._voiced: deque[bool] = deque(maxlen=_MEMORY)
        self._behind: deque[bool] = deque(maxlen=_MEMORY)
        self._voice: list[float] = []
        self._voice_before: list[float] = []

    def opens(self) -> None:
        """Another transmission."""
        self._voice_before, self._voice = self._voice, []

    def hears(self, chunk: Block, voiced: bool, speaking: bool) -> bool:
        """Whether this chunk may be the speaker.

        `voiced` is what the voice detector says of it, `speaking` whether a transmission is open.
        """
        level = level_db(chunk)
        self._levels.append(level)
        self._voiced.append(voiced)
        behind = self._is_behind(level)
        self._behind.append(behind)
        if speaking and voiced and not behind:
            self._voice.append(level)
        return not behind

    def _is_behind(self, level: float) -> bool:
        voice = self._voice or self._voice_before
        if not voice:
            return False
        levels = np.array(self._levels)
        room = float(np.percentile(levels, _ROOM))
        if not is_behind(level, float(np.percentile(voice, _VOICE)), room):
            return False
        return float(np.mean(np.array(self._voiced)[levels <= room + OVER_ROOM_DB])) >= _TALK

    def heard(self, chunks: int) -> bool:
        """Whether any of the last so many chunks may have been the speaker."""
        return not all(islice(reversed(self._behind), chunks))


def _frames(word: HeardWord, count: int) -> slice:
    """The frames in which a word was said, at least one."""
    start = min(int((word.start or 0.0) * SAMPLE_RATE / FRAME), count - 1)
    return slice(start, max(start + 1, int((word.end or 0.0) * SAMPLE_RATE / FRAME)))


def _leading(flags: Iterable[bool]) -> int:
    return sum(1 for _ in takewhile(bool, flags))
