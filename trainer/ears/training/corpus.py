"""The spoken corpus: planned clip by clip, synthesized in parts by several processes, read back as one.

A folder holds `plan.jsonl` (a line a clip) and, for each part that is done, `part-N.npz`. Parts that are there are
not made again, so a run that was broken off goes on.
"""

import json
import random
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.ears.training.errors import TrainingError
from trainer.ears.training.speakers import ENGINES, SHARES, SPEAKERS, Manner, of_engine, some_manner
from trainer.ears.training.synthesizers import Clip, Sound, Sources, can_say, synthesizer

PLAN = "plan.jsonl"
_CLIPS_A_PART = {"kokoro": 16, "festival": 50}
_MANY = 200
_LONGEST = 14.0
"""Seconds. Longer clips are left out; nobody keeps the key down so long."""


def plan(texts: Sequence[str], seed: int, phonemes: Callable[[str, str], str]) -> list[Clip]:
    """Give each text to a speaker, by the shares of the engines. `phonemes(text, voice)` is for Kokoro."""
    rng = random.Random(seed)
    clips = []
    for text in texts:
        engine = rng.choices(list(SHARES), list(SHARES.values()))[0]
        if not can_say(engine, text):
            if engine != "human":
                continue
            text = _digits(rng)
        speaker = rng.choice(of_engine(engine))
        spoken = phonemes(text, speaker.voice) if engine == "kokoro" else ""
        clips.append(Clip(speaker.name, text, some_manner(rng, engine), spoken))
    clips.sort(key=lambda clip: ENGINES.index(SPEAKERS[clip.speaker].engine))
    return clips


def _digits(rng: random.Random) -> str:
    words = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    return " ".join(rng.choice(words) for _ in range(rng.randint(1, 7)))


def write_plan(clips: Sequence[Clip], folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    lines = "".join(json.dumps(asdict(clip), ensure_ascii=False) + "\n" for clip in clips)
    (folder / PLAN).write_text(lines, encoding="utf-8")


def read_plan(folder: Path) -> list[Clip]:
    """TrainingError if there is none, or a line is no clip of a speaker that may be trained on."""
    path = folder / PLAN
    if not path.is_file():
        raise TrainingError(f"{path} is not there", "make it first: synthesize --plan-only")
    clips = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        try:
            fields = json.loads(line)
            clip = Clip(**{**fields, "manner": Manner(**fields["manner"])})
        except (ValueError, TypeError, KeyError) as error:
            raise TrainingError(
                f"{path} line {number} is no clip ({error})", "make the plan again"
            ) from error
        if clip.speaker not in SPEAKERS or SPEAKERS[clip.speaker].held_out:
            raise TrainingError(
                f"{path} line {number}: {clip.speaker!r} is not to be trained on", "make the plan again"
            )
        clips.append(clip)
    return clips


@dataclass(frozen=True)
class _Part:
    number: int
    engine: str
    clips: tuple[Clip, ...]


def _parts(clips: Sequence[Clip]) -> list[_Part]:
    by_engine: dict[str, list[Clip]] = defaultdict(list)
    for clip in clips:
        by_engine[SPEAKERS[clip.speaker].engine].append(clip)
    parts: list[_Part] = []
    for engine, own in by_engine.items():
        size = _CLIPS_A_PART.get(engine, _MANY)
        for start in range(0, len(own), size):
            parts.append(_Part(len(parts), engine, tuple(own[start : start + size])))
    return parts


_ready: dict[str, Callable[[Sequence[Clip]], list[Sound]]] = {}
"""The synthesizers of a worker process, made when first needed and kept."""


def _make(part: _Part, folder: Path, sources: Sources) -> int:
    if part.engine not in _ready:
        _ready[part.engine] = synthesizer(part.engine, sources)
    sounds = _ready[part.engine](part.clips)
    kept = [
        (clip, sound)
        for clip, sound in zip(part.clips, sounds, strict=True)
        if 0 < len(sound) <= _LONGEST * SAMPLE_RATE
    ]
    path = folder / f"part-{part.number:05d}.npz"
    partial = path.with_suffix(".tmp")
    with partial.open("wb") as file:
        np.savez(
            file,
            sound=np.concatenate([np.zeros(0, np.int16), *(sound for _, sound in kept)]),
            lengths=np.array([len(sound) for _, sound in kept], np.int64),
            speakers=np.array([clip.speaker for clip, _ in kept], np.str_),
            texts=np.array([clip.text for clip, _ in kept], np.str_),
        )
    partial.replace(path)
    return len(part.clips)


def synthesize(
    folder: Path, sources: Sources, workers: int, engines: Sequence[str] = ENGINES
) -> Iterator[tuple[int, int]]:
    """Speak what is planned and not yet spoken; yields (clips done, clips in all) after each part."""
    parts = [part for part in _parts(read_plan(folder)) if part.engine in engines]
    waiting = [part for part in parts if not (folder / f"part-{part.number:05d}.npz").exists()]
    total = sum(len(part.clips) for part in parts)
    done = total - sum(len(part.clips) for part in waiting)
    yield done, total
    with ProcessPoolExecutor(workers) as pool:
        for finished in as_completed([pool.submit(_make, part, folder, sources) for part in waiting]):
            done += finished.result()
            yield done, total


@dataclass(frozen=True)
class Corpus:
    """All clips end to end: clip k is `sound[starts[k] : starts[k] + lengths[k]]`."""

    sound: Sound
    starts: np.ndarray[tuple[int], np.dtype[np.int64]]
    lengths: np.ndarray[tuple[int], np.dtype[np.int64]]
    speakers: list[str]
    texts: list[str]

    def seconds_by_speaker(self) -> dict[str, float]:
        seconds: dict[str, float] = defaultdict(float)
        for speaker, length in zip(self.speakers, self.lengths, strict=True):
            seconds[speaker] += float(length) / SAMPLE_RATE
        return dict(seconds)


def read_corpus(folder: Path, without: Sequence[str] = ()) -> Corpus:
    """Every part that is there now, but for the engines of `without`; TrainingError if there is none."""
    sounds, lengths, speakers, texts = [], [], [], []  # type: list[Sound], list[np.ndarray], list[str], list[str]
    for path in sorted(folder.glob("part-*.npz")):
        with np.load(path) as part:
            if any(SPEAKERS[name].engine in without for name in part["speakers"][:1].tolist()):
                continue  # a part is of one engine
            sounds.append(part["sound"])
            lengths.append(part["lengths"])
            speakers += part["speakers"].tolist()
            texts += part["texts"].tolist()
    if not texts:
        raise TrainingError(f"{folder} holds no sound", "run synthesize first")
    whole = np.concatenate(lengths)
    return Corpus(np.concatenate(sounds), np.cumsum(whole) - whole, whole, speakers, texts)
