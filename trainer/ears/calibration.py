"""Ten seconds with a microphone, once: what it gives, whether that will do, and what to set right.

What is adapted is the loudness. Measured on 30 calls in synthetic voices at a ratio of 20 dB, whose voice was
62 and 68 dB under full scale: 19 and 4 were heard exactly as they came, 30 and 30 once raised to -26 dB; from
-50 dB up nothing was gained. What is kept for the reader and adapts nothing: noise and speaking rate.
"""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from math import isfinite
from typing import Any, Self

import numpy as np

from trainer.ears.endpoint import CHUNK
from trainer.ears.errors import EarsError
from trainer.ears.level import CLIPPED_SHARE, NOISY_DB, QUIET_DBFS, Level, LevelMeter, Trouble
from trainer.ears.recogniser import SAMPLE_RATE, Block

CALIBRATION_S = 10.0
"""So much sound is asked for; a call or two in it, and pauses."""
LEAST_VOICE_S = 1.5
"""With less of a voice nothing can be said about it."""

AIM_DBFS = -26.0
RAISE_BELOW_DBFS = -45.0
MOST_GAIN_DB = 40.0
_HEADROOM_DBFS = -3.0  # peaks are not raised above

GOOD_SNR_DB = 20.0
BAD_SNR_DB = 5.0
LOST_DBFS = -70.0
"""Quieter than anything that was measured: little is left of the voice between the steps of 16 bits."""

_PAUSE_FRAMES = 10  # a shorter gap in the voice is part of speaking


class Verdict(StrEnum):
    """What may be expected of this microphone, here."""

    GOOD = "good"
    USABLE = "usable"
    BAD = "bad"


@dataclass(frozen=True)
class Calibration:
    """What was measured, and the gain that follows from it. `as_json` and `from_json` are inverses.

    `speech_dbfs` None: no voice. `words_a_second` counts the time spoken, without the pauses; None if it
    was not known what was said.
    """

    verdict: Verdict
    reason: str
    noise_dbfs: float
    speech_dbfs: float | None
    peak_dbfs: float
    clipped: float
    gain_db: float = 0.0
    words_a_second: float | None = None

    @property
    def snr_db(self) -> float | None:
        return None if self.speech_dbfs is None else self.speech_dbfs - self.noise_dbfs

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Self:
        """EarsError if it is not what `as_json` gives."""
        try:
            values = {field.name: data[field.name] for field in fields(cls)}
            optional = ("speech_dbfs", "words_a_second")
            for name, value in values.items():
                if name in ("verdict", "reason"):
                    values[name] = str(value)
                elif value is not None or name not in optional:
                    values[name] = float(value)
                    if not isfinite(values[name]):
                        raise ValueError(f"{name} is {value}")
            if not 0 <= values["gain_db"] <= MOST_GAIN_DB:
                raise ValueError(f"gain_db is {values['gain_db']}")
            return cls(**{**values, "verdict": Verdict(values["verdict"])})
        except (KeyError, TypeError, ValueError, OverflowError) as error:
            raise EarsError(
                f"the microphone's calibration cannot be read ({error})", "calibrate again"
            ) from error


def calibrate(blocks: Iterable[Block], words: int | None = None) -> Calibration:
    """Judge about `CALIBRATION_S` seconds of somebody speaking with pauses; `words`: how many were said."""
    samples = np.concatenate([*blocks, np.zeros(0, np.int16)])
    meter = LevelMeter(window_s=max(len(samples), CHUNK) / SAMPLE_RATE)
    meter.feed(samples)
    level = meter.level
    spoken_s = _spoken_seconds(meter)
    verdict, reason = _judge(level)
    voice = level.speech_s >= LEAST_VOICE_S
    return Calibration(
        verdict=verdict,
        reason=reason,
        noise_dbfs=level.noise_dbfs,
        speech_dbfs=level.speech_dbfs if voice else None,
        peak_dbfs=level.peak_dbfs,
        clipped=level.clipped,
        gain_db=_gain(level) if voice else 0.0,
        words_a_second=words / spoken_s if words and voice else None,
    )


def amplify(samples: Block, gain_db: float) -> Block:
    """Raised by so much; what would leave full scale stays at it."""
    if not gain_db:
        return samples
    raised: Block = np.clip(np.rint(samples * 10 ** (gain_db / 20)), -32768, 32767).astype(np.int16)
    return raised


def _judge(level: Level) -> tuple[Verdict, str]:
    """The worst thing first."""
    speech, snr = level.speech_dbfs, level.snr_db
    if level.peak_dbfs <= -90:
        return Verdict.BAD, "Nothing comes from the microphone: unmute it, or choose another."
    if speech is None or snr is None or level.speech_s < LEAST_VOICE_S:
        return (
            Verdict.BAD,
            "Too little of a voice was heard: read the calls aloud, and turn the microphone up if you did.",
        )
    found = (
        (speech < LOST_DBFS, Verdict.BAD, Trouble.QUIET.value),
        (snr < BAD_SNR_DB, Verdict.BAD, Trouble.NOISY.value),
        (level.clipped > CLIPPED_SHARE, Verdict.USABLE, Trouble.CLIPPED.value),
        (snr < NOISY_DB, Verdict.USABLE, Trouble.NOISY.value),
        (speech < QUIET_DBFS, Verdict.USABLE, f"{Trouble.QUIET.value} Until then it is raised here."),
        (snr < GOOD_SNR_DB, Verdict.USABLE, "The room is heard under the voice: a headset would be better."),
    )
    for so, verdict, reason in found:
        if so:
            return verdict, reason
    return Verdict.GOOD, "The voice is loud and clear."


def _gain(level: Level) -> float:
    """What a quiet voice is raised by; a voice loud enough is left as it is."""
    if level.speech_dbfs is None or level.speech_dbfs >= RAISE_BELOW_DBFS:
        return 0.0
    wanted = min(AIM_DBFS - level.speech_dbfs, _HEADROOM_DBFS - level.peak_dbfs, MOST_GAIN_DB)
    return round(max(0.0, wanted), 1)


def _spoken_seconds(meter: LevelMeter) -> float:
    """The voice with the short gaps in it, without the pauses."""
    places = np.flatnonzero(meter.voiced)
    gaps = np.diff(places)
    frames = len(places) + int((gaps[gaps <= _PAUSE_FRAMES] - 1).sum())
    return frames * CHUNK / SAMPLE_RATE
