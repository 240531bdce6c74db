"""Every voice on the frequency: words of a station as sound, once synthesized and then kept.

The session asks it how long a transmission takes; whoever plays or records asks for the sound.
"""

import zlib
from collections.abc import Sequence

import numpy as np

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.session.frequency import TOWER
from voices.casting import cast
from voices.mixing import resample
from voices.radio import NORMAL, RadioSetting, radio
from voices.sound import Sound, Speaker


class RadioRoom:
    """`stations` are "tower" and the callsigns. Sounds are at `SAMPLE_RATE`, through the radio."""

    def __init__(
        self, speaker: Speaker, stations: Sequence[str], seed: int, setting: RadioSetting = NORMAL
    ) -> None:
        self._speaker = speaker
        self._cast = cast([TOWER, *(name for name in stations if name != TOWER)], seed, speaker.voices())
        self._setting = setting
        self._seed = seed
        self._kept: dict[tuple[str, str], Sound] = {}

    def sound(self, station: str, words: str) -> Sound:
        """What is heard when the station says these words; VoiceError if the engine fails twice."""
        key = (station, words)
        if key not in self._kept:
            spoken = resample(self._speaker.speak(words, self._cast[station]), SAMPLE_RATE)
            rng = np.random.default_rng(zlib.crc32(f"{self._seed}/{station}/{words}".encode()))
            self._kept[key] = radio(spoken, self._setting, rng)
        return self._kept[key]

    def seconds(self, station: str, words: str) -> float:
        """How long that takes."""
        return self.sound(station, words).seconds
