"""Model directories side by side on recordings of voices that no training has heard.

Each clip that is of the trade's words alone is heard in one situation's graph, which has the whole language
beside it: so the figures are of the product's own path, not of a grammar that knows the answer.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from phraseology.alignment import align, word_errors
from phraseology.calls import TOWER_CALLS, expect
from phraseology.example import example_context
from phraseology.lexicon import PRONUNCIATIONS
from phraseology.numbers import DIGIT_VALUES, DIGIT_WORDS
from phraseology.situation import situation
from phraseology.standards import standard
from trainer.ears.listener import hear_whole
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.ears.training.errors import TrainingError
from trainer.ears.vosk_ears import OwnGraphRecogniser
from voices.mixing import Noise, with_noise
from voices.sound import Sound

SNRS: tuple[float | None, ...] = (None, 15.0, 5.0)
"""Signal to noise in dB; None is clean."""

_PAUSE = np.zeros(int(0.3 * SAMPLE_RATE), np.float32)


@dataclass
class _Count:
    words: int = 0
    errors: int = 0
    clips: int = 0
    exact: int = 0


def evaluate(recordings: Path, models: Sequence[Path], most: int) -> str:
    """A Markdown table: word error, and clips heard exactly, of at most `most` clips a voice."""
    voices = sorted(recordings.glob("*.npz"))
    if not voices:
        raise TrainingError(f"there is no recording in {recordings}", "run the command record first")
    context = example_context(standard("us_military_tower"))
    here = situation(
        [expect("gear_report", context)],
        [expect(name, context) for name in TOWER_CALLS if name != "gear_report"],
    )
    rows = ["| voice | noise | " + " | ".join(str(model) for model in models) + " |"]
    rows.append("|---|---|" + "---|" * len(models))
    ears = [OwnGraphRecogniser(model) for model in models]
    for each in ears:
        each.listen_for(here)
    for snr in SNRS:
        name = "clean" if snr is None else f"{snr:.0f} dB"
        totals = [_Count() for _ in models]
        for voice in voices:
            counts = [_Count() for _ in models]
            for number, (sound, text) in enumerate(_clips(voice, most)):
                samples = _noisy(sound, snr, number)
                for count, total, recogniser in zip(counts, totals, ears, strict=True):
                    heard = _plain(hear_whole(samples, recogniser, here).text)
                    _add(count, _plain(text), heard)
                    _add(total, _plain(text), heard)
            rows.append(f"| {voice.stem} | {name} | " + " | ".join(map(_cell, counts)) + " |")
        rows.append(f"| **all** | {name} | " + " | ".join(map(_cell, totals)) + " |")
    return "\n".join(rows)


def _clips(path: Path, most: int) -> Iterator[tuple[NDArray[np.float32], str]]:
    """The clips whose every word is one of the trade's."""
    stored = np.load(path, allow_pickle=False)
    ends = np.cumsum(stored["lengths"])
    found = 0
    for end, length, text in zip(ends, stored["lengths"], stored["texts"], strict=True):
        if found == most or any(word not in PRONUNCIATIONS for word in str(text).split()):
            continue
        found += 1
        sound = stored["sound"][end - length : end].astype(np.float32)
        yield sound / max(1.0, float(np.abs(sound).max())), str(text)


def _noisy(sound: NDArray[np.float32], snr: float | None, seed: int) -> NDArray[np.int16]:
    samples = np.concatenate([_PAUSE, 0.5 * sound, _PAUSE]).astype(np.float32)
    if snr is not None:
        noise = (Noise.WHITE, Noise.PINK, Noise.COCKPIT)[seed % 3]
        samples = with_noise(Sound(samples, SAMPLE_RATE), snr, np.random.default_rng(seed), noise).samples
    return (np.clip(samples, -1, 1) * 32767).astype(np.int16)


def _plain(text: str) -> list[str]:
    """ "tree" and "three" are one word here."""
    return [DIGIT_WORDS[int(DIGIT_VALUES[word])] if word in DIGIT_VALUES else word for word in text.split()]


def _add(count: _Count, wanted: list[str], heard: list[str]) -> None:
    errors = word_errors(align(wanted, heard)).errors
    count.words += len(wanted)
    count.errors += errors
    count.clips += 1
    count.exact += errors == 0


def _cell(count: _Count) -> str:
    return f"{100 * count.errors / max(1, count.words):.1f} %, {count.exact} of {count.clips} exact"
