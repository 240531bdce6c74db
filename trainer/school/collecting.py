"""`patternvoice class collect`: exported sessions, from files into the class's logbook, each once."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from trainer.errors import TrainerError
from trainer.logbook.locations import private_folder
from trainer.logbook.recordings import FOLDER
from trainer.logbook.store import Clip, Logbook, TrackPoint
from trainer.school.classroom import Classroom
from trainer.school.roster import Student
from trainer.school.session_file import ENDING, SessionFile, copy_recording, read_session

NOT_ENDED = {"reason": "it did not end in order"}
"""The summary of a session that has none: in the class's logbook it marks that all of it was taken in."""


@dataclass(frozen=True)
class Collected:
    """What became of one file: a `problem` in one sentence, or whose session it is, its number and calls.

    `new` False: it had been collected before and counts once.
    """

    path: Path
    problem: str | None = None
    student: str = ""
    session: int = 0
    calls: int = 0
    new: bool = False


def session_files(folder: Path) -> list[Path]:
    """The exports in the folder and the folders in it, sorted; TrainerError if there is none.

    What a link points to outside of it is left alone.
    """
    if not folder.is_dir():
        raise TrainerError(f"there is no folder {folder}", "name the folder with the exported sessions")
    inside = folder.resolve()
    found = sorted(
        path
        for path in folder.rglob("*")
        if path.suffix.lower() == ENDING and path.is_file() and path.resolve().is_relative_to(inside)
    )
    if not found:
        raise TrainerError(
            f"there is no exported session (*{ENDING}) in {folder}",
            "make them on each machine with patternvoice class hand-in, and put the files there",
        )
    return found


def collect(room: Classroom, folder: Path) -> Iterator[Collected]:
    """Take in every export of the folder, one result a file as it comes; a bad one does not stop the rest."""
    files = session_files(folder)
    with room.logbook(checked=True) as logbook:
        logbook.forget([row.id for row in logbook.sessions("summary IS NULL")])  # broken off while taken in
        known = dict(logbook.rows("SELECT meta ->> 'digest', id FROM sessions"))
        for path in files:
            try:
                yield _take_in(room, logbook, known, path, folder)
            except TrainerError as error:
                yield Collected(path, problem=" ".join(str(error).split()))


def _take_in(room: Classroom, logbook: Logbook, known: dict[str, int], path: Path, folder: Path) -> Collected:
    session = read_session(path)
    student = _whose(room, session, path, folder)
    digest = session.digest
    if digest in known:
        return Collected(path, None, student.title, known[digest], session.calls)
    stem = private_folder(room.folder / FOLDER) / digest[:32]
    recording = copy_recording(path, stem)
    meta = {**session.meta, "student": student.key, "digest": digest}
    with logbook.together():
        number = logbook.start_session(meta, session.started)
        for event in session.events:
            logbook.write(number, event)
        for point in session.track:
            logbook.flown(number, TrackPoint(*point))
        for clip in session.clips:
            logbook.recorded(number, Clip(*clip))
        logbook.finish(number, session.summary or NOT_ENDED, recording)
    known[digest] = number
    return Collected(path, None, student.title, number, session.calls, new=True)


def _whose(room: Classroom, session: SessionFile, path: Path, folder: Path) -> Student:
    """By the name in the export, else the folder it lies in, else what its file name begins with."""
    within = path.relative_to(folder)
    names = [
        session.trainee,
        *reversed(within.parts[:-1]),
        path.stem,
        path.stem.replace("-", "_").split("_")[0],
    ]
    for name in names:
        student = room.student(name)
        if student is not None:
            return student
    whose = f'says "{session.trainee}"' if session.trainee else "names nobody"
    raise TrainerError(
        f"{path} {whose}, and nobody of that name is on the roster of {room.name}",
        "put it into a folder named as the student is on the roster, or begin its name with NUMBER_",
    )
