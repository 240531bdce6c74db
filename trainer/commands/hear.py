"""Recordings heard and judged, one call a file: what the command line's `hear` does.

A file that cannot be read is a sentence in its result, and the others go on. With a call or a message in the
question each file is judged by it; without, the whole language is listened for and nothing is judged.
"""

import json
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from phraseology.assess import assess
from phraseology.assessment import Assessment
from phraseology.heard import Heard
from phraseology.situation import situation
from phraseology.wordgraph import WordAutomaton
from trainer.commands.question import Question
from trainer.debrief.account import assessment_lines
from trainer.ears.level import Level, measure
from trainer.ears.listener import as_block, hear_whole
from trainer.ears.recogniser import SAMPLE_RATE, Block, Recogniser
from trainer.errors import TrainerError
from trainer.judging import context_of, expected_of, listening_for
from trainer.which_call import Recognised, answers_of, calls_of, which_call
from voices.any_wav import read_any_wav
from voices.errors import VoiceError
from voices.mixing import resample

LONGEST_S = 60.0
"""A recording is one call: three times what a call may last on the air, for the silence around it."""


@dataclass(frozen=True)
class FileHeard:
    """What came of one file: a `problem` in one sentence, or all the others.

    `recognised` None: the words give no call away. `assessment` None: nobody said what was due. `took_s` is
    the time to read, hear and judge it, in seconds.
    """

    path: Path
    took_s: float
    problem: str | None = None
    heard: Heard = field(default_factory=Heard)
    level: Level | None = None
    recognised: Recognised | None = None
    assessment: Assessment | None = None

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is wrong with the level, each with its remedy."""
        return tuple(trouble.value for trouble in self.level.troubles) if self.level else ()

    def as_json(self) -> dict[str, Any]:
        """The published form: one such object a file, the same keys in each."""
        return {
            "file": str(self.path),
            "problem": self.problem,
            "text": self.heard.text,
            "heard_by": self.heard.by.value,
            "words": [
                {"word": word.text, "confidence": round(word.confidence, 3),
                 "start": word.start, "end": word.end}
                for word in self.heard.words
            ],
            "recognised": self.recognised.name if self.recognised else None,
            "assessment": self.assessment.as_json() if self.assessment else None,
            "seconds": round(self.level.seconds, 2) if self.level else None,
            "speech_s": round(self.level.speech_s, 2) if self.level else None,
            "warnings": list(self.warnings),
            "took_s": round(self.took_s, 3),
        }  # fmt: skip


class FileEars:
    """Hears files by one question. Known errors, at once, for what is not so in it, then for a bad model."""

    def __init__(self, question: Question, open_ears: Callable[[], Recogniser]) -> None:
        self._context = context_of(question)
        self._due = expected_of(question) if question.names_what_was_due else None
        self._ears = open_ears()

    @cached_property
    def listening_for(self) -> WordAutomaton:
        """What was due and every other call; or the whole language."""
        if self._due is not None:
            return listening_for(self._due)
        answers = [expected for _, expected in answers_of(self._context) if expected.slots]
        return situation([], [*calls_of(self._context), *answers])

    def hear(self, path: Path) -> FileHeard:
        """The result for this file, whatever is in it."""
        began = time.perf_counter()
        try:
            samples = read_call(path)
        except VoiceError as error:
            return FileHeard(path, time.perf_counter() - began, problem=" ".join(str(error).split()))
        return self.judge(path, samples, began)

    def judge(self, path: Path, samples: Block, began: float) -> FileHeard:
        """The result for samples that were read already; `began` on `time.perf_counter`."""
        heard = hear_whole(samples, self._ears, self.listening_for)
        recognised = which_call(heard, self._context, self._due)
        assessment = assess(self._due, heard) if self._due is not None else None
        level = measure(samples)
        took_s = time.perf_counter() - began
        return FileHeard(path, took_s, None, heard, level, recognised, assessment)


def read_call(path: Path) -> Block:
    """A recording of one call, as the ears take it; VoiceError if it cannot be read or is too long."""
    return as_block(resample(read_any_wav(path, LONGEST_S), SAMPLE_RATE).samples)


def wav_files(paths: Sequence[Path]) -> list[Path]:
    """The files, and all *.wav in the folders and the folders in them, sorted; each once.

    A file that is not there stays in the list, for its own sentence. TrainerError if there is none at all.
    """
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            found += sorted(
                file for file in path.rglob("*") if file.suffix.lower() == ".wav" and file.is_file()
            )
        else:
            found.append(path)
    if not found:
        where = f" in {', '.join(map(str, paths))}" if paths else ""
        raise TrainerError(f"no recording to hear{where}", "name WAV files, or folders that hold some")
    return list(dict.fromkeys(found))


def result_lines(result: FileHeard) -> list[str]:
    """What a person reads of one file that could be heard."""
    if result.assessment is not None:
        first, _, *rest = assessment_lines(result.assessment)
    else:
        first, rest = result.recognised.title if result.recognised else "No call that is known", []
    lines = [f"{result.path}: {first}", f"  heard  {_words(result.heard)}"]
    if result.assessment is not None and result.recognised is not None:
        lines.append(f"  as     {result.recognised.title}")
    lines += rest
    if result.level is not None:
        lines.append(
            f"  sound  {result.level.speech_s:.1f} s of speech in {result.level.seconds:.1f} s,"
            f" taken in within {result.took_s:.2f} s"
        )
    return [*lines, *(f"  !      {warning}" for warning in result.warnings)]


def _words(heard: Heard) -> str:
    """Each word; behind those that are not certain how sure the ears were, 0 to 1."""
    return (
        " ".join(
            word.text if word.confidence >= 0.995 else f"{word.text}({word.confidence:.2f})"
            for word in heard.words
        )
        or "(nothing)"
    )


def hear_files(
    paths: Sequence[Path], question: Question, open_ears: Callable[[], Recogniser], *, as_json: bool
) -> int:
    """Hear them and print what came of each, as it comes: for people, or one JSON object a line.

    Exit status 2 if a file could not be read (its sentence goes to standard error), else 1 if one was judged
    and not accepted, else 0.
    """
    files = wav_files(paths)
    file_ears = FileEars(question, open_ears)
    status = 0
    with progress_bar(len(files)) as step:
        for path in files:
            result = file_ears.hear(path)
            if result.problem is not None:
                status = 2
                print(f"patternvoice: {result.problem}", file=sys.stderr)
            elif result.assessment is not None and not result.assessment.accepted:
                status = max(status, 1)
            if as_json:
                print(json.dumps(result.as_json(), ensure_ascii=False), flush=True)
            elif result.problem is None:
                print("\n".join(result_lines(result)), flush=True)
            step()
    return status


@contextmanager
def progress_bar(files: int) -> Iterator[Any]:
    """A bar on standard error, if that is a terminal and there is something to wait for; a step is a file."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    bar = Progress(
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
        redirect_stdout=sys.stdout.isatty(),  # else the results would go where the bar is
        disable=files < 2 or not sys.stderr.isatty(),
    )
    with bar:
        task = bar.add_task("", total=files)
        yield lambda: bar.advance(task)
