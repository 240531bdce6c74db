"""`patternvoice grade`: all recordings of a folder judged again, in parallel, each exactly once.

What is done stands in `grades.jsonl` in the folder, a line a recording, at once: who breaks off and grades
again goes on where it was. `grades.csv` is the same for a spreadsheet, at the end.
"""

import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from trainer.commands.hear import progress_bar, read_call
from trainer.commands.question import Question
from trainer.ears.listener import as_block
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.errors import TrainerError
from trainer.judging import expected_of
from trainer.logbook.errors import LogbookError
from trainer.logbook.recordings import piece
from trainer.models import chosen_model
from trainer.paper import write_page
from trainer.school.cells import csv_text
from trainer.school.ledger import Ledger
from trainer.school.questions import listed_questions, question_of
from trainer.school.regrading import Graded, Work
from trainer.school.session_file import ENDING, copy_recording, read_session
from trainer.school.workers import judge_here, judge_on_cluster
from voices.errors import VoiceError
from voices.mixing import resample
from voices.sound import Sound

LEDGER, TABLE = "grades.jsonl", "grades.csv"
_SAME_S = 0.05
"""An event and its clip are of the same moment."""

Run = Callable[[Iterable[Work]], Iterator[Graded]]


def run_grading(
    folder: Path, question: Question, scheduler: str | None, workers: int | None, model: Path | None
) -> int:
    """What the command does. Exit status 0, 2 if a recording could not be judged; TrainerError as `grade`."""
    if scheduler is not None and workers is not None:
        raise TrainerError("--workers is for this machine, --scheduler for a cluster", "leave one out")
    if workers is not None and not 1 <= workers <= 256:
        raise TrainerError(f"{workers} workers", "write 1 to 256")
    if question.names_what_was_due:
        expected_of(question)  # a question that is not so is refused before anything is heard
    chosen = chosen_model(model)

    def run(works: Iterable[Work]) -> Iterator[Graded]:
        return judge_on_cluster(works, scheduler) if scheduler else judge_here(works, workers)

    found = grade(folder, question, run, chosen, lambda line: print(f"patternvoice: {line}", file=sys.stderr))
    print(f"{found.judged} judged now, {found.before} before, {found.failed} not; {found.accepted} accepted")
    if found.compared:
        print(f"{found.changed} of {found.compared} calls have another verdict than in their session")
    print(f"Written: {folder / TABLE}")
    return 2 if found.failed else 0


@dataclass(frozen=True)
class Summary:
    """How many were judged now, had been before, could not be (each has its sentence), were accepted of all;
    and of those with an earlier verdict how many have another one now."""

    judged: int
    before: int
    failed: int
    accepted: int
    compared: int
    changed: int


def grade(
    folder: Path, question: Question, run: Run, model: Path | None, say: Callable[[str], None]
) -> Summary:
    """Judge what is not in the ledger yet; `say` gets a sentence for each recording that cannot be judged.

    `question` is for WAV files that `questions.csv` does not name. TrainerError without recordings.
    """
    files = _files(folder)
    listed = listed_questions(folder)
    ledger = Ledger.open(folder / LEDGER)
    judged = before = 0

    def take(graded: Graded) -> bool:
        new = ledger.add(graded)
        if new and graded.problem is not None:
            say(f"{graded.result['file']}: {graded.problem}")
        return new and graded.problem is None

    with progress_bar(len(files)) as step:

        def taken() -> Iterator[Path]:
            for path in files:
                yield path
                step()

        def new() -> Iterator[Work]:
            nonlocal before
            for work in _works(folder, taken(), listed, question, str(model) if model else None):
                if isinstance(work, Graded):
                    take(work)
                elif ledger.knows(work.key):
                    before += 1
                else:
                    yield work

        for graded in run(new()):
            judged += take(graded)
    if not ledger.rows:
        raise TrainerError(
            f"no session in {folder} has a recording of its calls",
            "students keep them from the next session on with patternvoice logbook recordings flac",
        )
    write_page(folder / TABLE, as_table(ledger.rows))
    return _summary(ledger, judged, before)


def _summary(ledger: Ledger, judged: int, before: int) -> Summary:
    rows = ledger.rows
    heard = [row for row in rows if row["assessment"]]
    both = [row for row in heard if row["was"]]
    return Summary(
        judged=judged,
        before=before,
        failed=sum(bool(row["problem"]) for row in rows),
        accepted=sum(row["assessment"]["accepted"] for row in heard),
        compared=len(both),
        changed=sum(row["assessment"]["accepted"] != row["was"]["accepted"] for row in both),
    )


def as_table(rows: Iterable[dict[str, Any]]) -> str:
    header = ("file", "call", "heard", "accepted", "score", "accepted_before", "score_before", "problem")
    return csv_text(
        header,
        (
            (
                row["file"],
                (row["assessment"] or {}).get("call") or row.get("recognised"),
                row.get("text"),
                _yes((row["assessment"] or {}).get("accepted")),
                (row["assessment"] or {}).get("score"),
                _yes((row["was"] or {}).get("accepted")),
                (row["was"] or {}).get("score"),
                row["problem"],
            )
            for row in rows
        ),
    )


def _yes(value: bool | None) -> str | None:
    return None if value is None else "yes" if value else "no"


# -- what there is to judge ------------------------------------------------------------------------------


def _files(folder: Path) -> list[Path]:
    """WAV files and handed-in sessions of the folder and the folders in it, sorted; TrainerError if none."""
    if not folder.is_dir():
        raise TrainerError(f"there is no folder {folder}", "name the folder with the recordings")
    endings = (".wav", ENDING)
    found = sorted(path for path in folder.rglob("*") if path.suffix.lower() in endings and path.is_file())
    if not found:
        raise TrainerError(
            f"no recording in {folder}", f"put WAV files or handed-in sessions (*{ENDING}) there"
        )
    return found


def _works(
    folder: Path, files: Iterable[Path], listed: dict[str, Question], question: Question, model: str | None
) -> Iterator[Work | Graded]:
    """Every recording as work; as a result already where it cannot be read."""
    for path in files:
        name = path.relative_to(folder).as_posix()
        if path.suffix.lower() == ENDING:
            yield from _of_session(path, name, model)
            continue
        due = listed.get(name, question)
        try:
            yield Work(name, read_call(path).tobytes(), due, None, model)
        except VoiceError as error:
            yield _unreadable(name, error)


def _of_session(path: Path, name: str, model: str | None) -> Iterator[Work | Graded]:
    """The trainee's calls of a handed-in session, each with what was due and its verdict then."""
    with TemporaryDirectory() as temporary:
        try:
            session = read_session(path)
            recording = copy_recording(path, Path(temporary) / "recording")
        except TrainerError as error:
            yield _unreadable(name, error)
            return
        own = [clip for clip in session.clips if clip[1] == session.meta.get("callsign")]
        for place, event in enumerate(session.events):
            clip = next((each for each in own if abs(each[0] - event["at"]) < _SAME_S), None)
            if event["event"] != "TraineeSpoke" or clip is None or recording is None:
                continue
            of_call = f"{name}#{event['at']:.1f}"
            try:
                samples, rate = piece(recording, clip[2], clip[3])
                sound = resample(Sound((samples / 32768).astype(np.float32), rate), SAMPLE_RATE)
                due = question_of(session.meta, session.events, place)
            except (LogbookError, TrainerError) as error:
                yield _unreadable(of_call, error)
                continue
            was = (bool(event["accepted"]), int(event["score"]))
            yield Work(of_call, as_block(sound.samples).tobytes(), due, was, model)


def _unreadable(name: str, error: Exception) -> Graded:
    return Graded.failed(Work(name, b"", Question()), " ".join(str(error).split()))
