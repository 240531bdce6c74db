"""Held-out voices saying held-out texts, kept as files, so that every model hears the very same sound.

A folder holds `texts.json` (calls right and wrong, strings and other talk of a seed that no training uses) and for each
voice `NAME.npz` with `sound`, `lengths` and `texts`.
"""

import json
import random
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from trainer.ears.training.errors import TrainingError
from trainer.ears.training.speakers import SPEAKERS, Manner
from trainer.ears.training.synthesizers import Clip, Sources, can_say, synthesizer

SEED = 987_654
TEXTS = "texts.json"


def write_test_texts(folder: Path, count: int) -> None:
    """Texts of the catalogue, of strings, and of other talk; made anew from a seed that no training uses."""
    from trainer.ears.training.lexicon import whole_lexicon
    from trainer.ears.training.texts import write_texts

    folder.mkdir(parents=True, exist_ok=True)
    texts = write_texts(count, SEED, whole_lexicon())
    (folder / TEXTS).write_text(json.dumps(texts, indent=0), encoding="utf-8")


def record(
    folder: Path,
    names: Sequence[str],
    sources: Sources,
    phonemes: Callable[[str, str], str] | None,
    count: int,
) -> None:
    """Have each voice say `count` of the texts, its own choice of them; a file that is there is kept."""
    texts = json.loads((folder / TEXTS).read_text(encoding="utf-8"))
    for name in names:
        speaker = SPEAKERS.get(name)
        if speaker is None or not speaker.held_out:
            raise TrainingError(
                f"{name!r} is no held-out voice", "choose one that the table of speakers holds out"
            )
        path = folder / f"{name.replace(' ', '-')}.npz"
        if path.exists():
            continue
        rng = random.Random(name)
        own = rng.sample(texts, min(count, len(texts)))
        if speaker.engine == "human":
            words = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
            own = [" ".join(rng.choice(words) for _ in range(rng.randint(1, 6))) for _ in range(count)]
        own = [text for text in own if can_say(speaker.engine, text)]
        clips = [
            Clip(
                name,
                text,
                Manner(round(rng.uniform(0.95, 1.25), 2), round(rng.uniform(0.9, 1.1), 2)),
                phonemes(text, speaker.voice) if phonemes and speaker.engine == "kokoro" else "",
            )
            for text in own
        ]
        sounds = synthesizer(speaker.engine, sources)(clips)
        kept = [(text, sound) for text, sound in zip(own, sounds, strict=True) if len(sound)]
        np.savez(
            path,
            sound=np.concatenate([sound for _, sound in kept]),
            lengths=np.array([len(sound) for _, sound in kept]),
            texts=np.array([text for text, _ in kept]),
        )
