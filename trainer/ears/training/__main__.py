"""The command line: `python -m trainer.ears.training synthesize|train|export|record|evaluate`."""

import argparse
import math
import os
import sys
from collections.abc import Iterable
from pathlib import Path

from trainer.ears.errors import EarsError
from trainer.ears.model_files import SHIPPED_MODEL

LEXICON = "lexicon.txt"
"""Beside the plan: the words that its texts were made for."""
NAMES = "names.txt"
"""Beside it too: other words, spoken as names of aircraft and places and at random."""


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m trainer.ears.training", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)

    make = commands.add_parser(
        "synthesize", help="plan the corpus and have it spoken; goes on where it stopped"
    )
    make.add_argument("corpus", type=Path, help="folder of the corpus")
    make.add_argument("--clips", type=int, default=40_000, help="how many texts")
    make.add_argument(
        "--names", type=int, default=5000, help="how many other words of the dictionary are spoken"
    )
    make.add_argument("--seed", type=int, default=1)
    make.add_argument("--plan-only", action="store_true", help="choose texts and speakers, say nothing")
    make.add_argument("--engines", nargs="+", help="only these: espeak flite festival pico human kokoro")
    make.add_argument("--kokoro", type=Path, help="folder with Kokoro's network, vocabulary and voices")
    make.add_argument("--human-digits", type=Path, help="zip of recorded digits")
    make.add_argument("--workers", type=int, default=os.cpu_count() or 1)

    train = commands.add_parser("train", help="train the network; goes on from its checkpoint")
    train.add_argument("corpus", type=Path)
    train.add_argument("work", type=Path, help="folder of the checkpoint")
    train.add_argument("--align-seconds", type=float, default=150.0)
    train.add_argument("--align-updates", type=int, default=2500)
    train.add_argument("--seconds", type=float, default=400.0, help="of the stage that tells words apart")
    train.add_argument("--updates", type=int, default=6000)
    train.add_argument("--pause-after", type=float, default=math.inf, help="seconds; a later run goes on")
    train.add_argument("--batch-seconds", type=float, default=500.0)
    train.add_argument(
        "--words", type=float, default=0.5, help="share of the word loop in what is competed with"
    )
    train.add_argument("--width", type=int, default=640)
    train.add_argument("--joint", type=int, default=224)
    train.add_argument("--flat", action="store_true", help="begin without a trained network")
    train.add_argument("--teacher", type=Path, default=SHIPPED_MODEL / "am" / "final.mdl")
    train.add_argument("--seed", type=int, default=1)
    train.add_argument("--leave-out", nargs="+", metavar="ENGINE", help="train without the clips of these")
    train.add_argument("--workers", type=int, default=os.cpu_count() or 1)

    export = commands.add_parser("export", help="write the model directory")
    export.add_argument("corpus", type=Path)
    export.add_argument("work", type=Path)
    export.add_argument("model", type=Path, help="the directory to write")
    export.add_argument("--leave-out", nargs="+", metavar="ENGINE", help="as it was trained; for the card")

    record = commands.add_parser("record", help="have held-out voices speak the texts of the evaluation")
    record.add_argument("recordings", type=Path)
    record.add_argument("voices", nargs="*", help="names of the table of speakers; none: only the texts")
    record.add_argument("--clips", type=int, default=150, help="a voice")
    record.add_argument("--kokoro", type=Path)
    record.add_argument("--human-digits", type=Path)

    test = commands.add_parser("evaluate", help="compare model directories on recordings of held-out voices")
    test.add_argument("recordings", type=Path, help="folder of NAME.npz, each a voice")
    test.add_argument("models", type=Path, nargs="+")
    test.add_argument("--clips", type=int, default=40, help="of each voice")
    return parser


def _show(steps: Iterable[tuple[int, int, str]], title: str) -> None:
    """A progress bar on a terminal, now and then a line elsewhere."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    if not console.is_terminal:
        for number, (done, total, text) in enumerate(steps):
            if number % 20 == 0:
                print(f"{title} {done}/{total} {text}", file=sys.stderr, flush=True)
        return
    with Progress(console=console) as bar:
        task = bar.add_task(title)
        for done, total, text in steps:
            bar.update(task, completed=done, total=total, description=f"{title} {text}")


def _synthesize(options: argparse.Namespace) -> None:
    from trainer.ears.training import corpus
    from trainer.ears.training.speakers import ENGINES
    from trainer.ears.training.synthesizers import Sources

    if not (options.corpus / corpus.PLAN).exists():
        from trainer.ears.training.lexicon import Lexicon, other_words, whole_lexicon
        from trainer.ears.training.phonemes import common_words, phonemizer
        from trainer.ears.training.texts import write_texts

        lexicon = whole_lexicon()
        names = other_words(lexicon, options.names, options.seed, common_words())
        texts = write_texts(options.clips, options.seed, lexicon, sorted(names.ways))
        speak = phonemizer(Lexicon({**names.ways, **lexicon.ways}))
        corpus.write_plan(corpus.plan(texts, options.seed, speak), options.corpus)
        (options.corpus / NAMES).write_text(names.text(), encoding="utf-8")
        (options.corpus / LEXICON).write_text(lexicon.text(), encoding="utf-8")
    if options.plan_only:
        return
    sources = Sources(options.kokoro, options.human_digits)
    engines = options.engines or ENGINES
    made = corpus.synthesize(options.corpus, sources, options.workers, engines)
    _show(((done, total, "clips") for done, total in made), "synthesize")


def _train(options: argparse.Namespace) -> None:
    from trainer.ears.training.corpus import read_corpus
    from trainer.ears.training.learning import Plan, Stage, Training, device_at_hand
    from trainer.ears.training.lexicon import read_lexicon
    from trainer.ears.training.network import Shape

    plan = Plan(
        stages=(
            Stage("align", options.align_updates, options.align_seconds, 2e-3),
            Stage("discriminate", options.updates, options.seconds, 1e-3),
        ),
        batch_seconds=options.batch_seconds,
        words=options.words,
        seed=options.seed,
        shape=Shape(options.width, options.joint),
    )
    training = Training(
        read_corpus(options.corpus, [] if options.leave_out is None else options.leave_out),
        read_lexicon(options.corpus / LEXICON),
        read_lexicon(options.corpus / NAMES),
        options.work,
        plan,
        None if options.flat else options.teacher,
        device_at_hand(),
        options.workers,
    )
    steps = (
        (p.update, p.of, f"{p.stage} loss {p.loss:.4f}, text {p.likelihood:.4f} a frame, {p.seconds:.0f} s")
        for p in training.run(options.pause_after)
    )
    _show(steps, "train")


def _export(options: argparse.Namespace) -> None:
    from trainer.ears.training.corpus import read_corpus
    from trainer.ears.training.export import export_model, model_card
    from trainer.ears.training.learning import read_network
    from trainer.ears.training.lexicon import read_lexicon
    from trainer.ears.training.speakers import card

    voices = card(read_corpus(options.corpus, options.leave_out or []).seconds_by_speaker())
    lexicon = read_lexicon(options.corpus / LEXICON)
    export_model(read_network(options.work), lexicon, options.model, model_card(lexicon, voices))


def _record(options: argparse.Namespace) -> None:
    from trainer.ears.training.recordings import TEXTS, record, write_test_texts
    from trainer.ears.training.synthesizers import Sources

    if not (options.recordings / TEXTS).exists():
        write_test_texts(options.recordings, 2000)
    phonemes = None
    if any(name.startswith("kokoro ") for name in options.voices):
        from trainer.ears.training.lexicon import whole_lexicon
        from trainer.ears.training.phonemes import phonemizer

        phonemes = phonemizer(whole_lexicon())
    record(
        options.recordings,
        options.voices,
        Sources(options.kokoro, options.human_digits),
        phonemes,
        options.clips,
    )


def _evaluate(options: argparse.Namespace) -> None:
    from trainer.ears.training.evaluate import evaluate

    print(evaluate(options.recordings, options.models, options.clips))


def main() -> None:
    options = _arguments().parse_args()
    commands = {
        "synthesize": _synthesize,
        "train": _train,
        "export": _export,
        "record": _record,
        "evaluate": _evaluate,
    }
    try:
        commands[options.command](options)
    except EarsError as error:
        sys.exit(f"{error}")


if __name__ == "__main__":
    main()
