"""Readers of what holds sessions, for `fuzzing.py`: archives, results of other machines, logbooks. What is taken in
is shown in all the ways that the program has."""

import contextlib
import io
import json
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterable
from pathlib import Path

from tests.logbook.flown import STARTED
from tests.trust.fuzzed_files import Read, check_cells, tried
from tests.trust.packing import packed, short_session
from trainer.commands.logbook import export, list_sessions, show_progress
from trainer.debrief.debriefing import debrief
from trainer.debrief.page import debrief_page
from trainer.ears.fetch import unpack
from trainer.errors import TrainerError
from trainer.logbook import schema
from trainer.logbook.errors import LogbookError
from trainer.logbook.keeping import Which, back_up, delete, rows_of
from trainer.logbook.store import FILE_NAME, Logbook
from trainer.school.classroom import new_class
from trainer.school.collecting import collect
from trainer.school.counting import class_figures
from trainer.school.roster import Student
from trainer.school.session_file import read_session
from trainer.school.sheets import sheet_files


def sessions() -> Iterable[bytes]:
    yield json.dumps(short_session()).encode()


def recorded() -> Iterable[bytes]:
    yield json.dumps({**short_session(), "recording": "recordings/../a.wav"}).encode()


def archives() -> Iterable[bytes]:
    (session,) = sessions()
    yield packed(session)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as pack:
        for name in ("am/final.mdl", "conf/mfcc.conf", "graph/HCLG.fst"):
            pack.writestr(f"model/{name}", b"x" * 20)
    yield out.getvalue()


def archive_reader(folder: Path) -> Read:
    """A session handed in, or a model as it was fetched: the same bytes for both."""
    path = folder / "a.zip"

    def read(data: bytes) -> None:
        path.write_bytes(data)
        try:
            tried(lambda: read_session(path), lambda: unpack(path, folder / "unpacked"))
        finally:
            shutil.rmtree(folder / "unpacked", ignore_errors=True)

    return read


def results_reader(folder: Path) -> Read:
    path = folder / "a.pvsession"

    def read(data: bytes) -> None:
        path.write_bytes(packed(data))
        read_session(path)

    return read


def collected_reader(folder: Path) -> Read:
    """Taken into a class, counted, written as sheets and pages."""
    room = new_class("Autumn")
    room.set_roster([Student(number="7", name="Alder")])
    handed_in = folder / "in"
    handed_in.mkdir()

    def read(data: bytes) -> None:
        (handed_in / "7_a.pvsession").write_bytes(packed(data))
        (found,) = collect(room, handed_in)
        if found.problem is not None:
            assert str(folder) in found.problem
            raise TrainerError(found.problem, "refused")
        with room.logbook() as logbook:
            try:
                with contextlib.suppress(LogbookError):
                    check_page(debrief_page(debrief(logbook, found.session)))
                for name, text in sheet_files(class_figures(room), "today"):
                    check_page(text)
                    if name.endswith(".csv"):
                        check_cells(text)
            finally:
                logbook.forget([row.id for row in logbook.sessions()])

    return read


def check_page(text: str) -> None:
    assert "<script>alert" not in text, "markup from outside in a page"


def logbooks() -> Iterable[bytes]:
    with tempfile.TemporaryDirectory() as name:
        with Logbook.open(Path(name)) as logbook:
            number = logbook.start_session({"title": "a"}, STARTED)
            for event in short_session()["events"]:
                if event["event"] in ("TraineeSpoke", "CallMissed", "SessionEnded"):
                    logbook.write(number, event)
            logbook.copy_to(Path(name) / "copy")
        yield (Path(name) / "copy").read_bytes()


def shown(folder: Path) -> None:
    """All that the program shows of the logbook in the data folder; then its sessions are deleted."""
    with Logbook.open(folder) as logbook:
        moved_aside, rows = logbook.notice, rows_of(logbook, Which())
        for row in rows[:3]:
            with contextlib.suppress(LogbookError):
                check_page(debrief_page(debrief(logbook, row.id)))
    out = folder / "out.csv"
    with contextlib.redirect_stdout(io.StringIO()) as said:
        tried(
            lambda: list_sessions(Which(), as_json=False),
            lambda: show_progress(as_json=False),
            lambda: export(Which(), folder / "out.json", "json"),
            lambda: export(Which(), out, "csv"),
        )
    assert said.getvalue().replace("\n", "").isprintable(), "a terminal would obey it"
    if out.exists():
        check_cells(out.read_text(encoding="utf-8"))
    with Logbook.open(folder) as logbook:
        tried(lambda: back_up(logbook, folder / "out.zip"), lambda: delete(logbook, rows))
    if moved_aside:
        raise TrainerError(moved_aside, "refused")


def emptied(folder: Path) -> None:
    for path in folder.iterdir():
        path.unlink()


def logbook_reader(folder: Path) -> Read:
    def read(data: bytes) -> None:
        emptied(folder)
        (folder / FILE_NAME).write_bytes(data)
        shown(folder)

    return read


def rows_reader(folder: Path) -> Read:
    """A sound database of the first version, its rows from the input; opening it makes the later tables."""

    def read(data: bytes) -> None:
        try:
            whole = json.loads(data)
            events = [each for each in whole["events"] if isinstance(each, dict)]
        except (ValueError, KeyError, TypeError, RecursionError):
            return
        emptied(folder)
        database = sqlite3.connect(folder / FILE_NAME, isolation_level=None)
        database.execute("PRAGMA synchronous = OFF")
        for step in schema.MIGRATIONS[0]:
            database.execute(str(step))
        database.execute("PRAGMA user_version = 1")
        texts = [plain(whole.get("started")), *(json.dumps(whole.get(key)) for key in ("meta", "summary"))]
        database.execute(
            "INSERT INTO sessions VALUES (1, ?, ?, ?, ?)", (*texts, plain(whole.get("recording")))
        )
        for event in events:
            at = event.get("at")
            seconds = float(at) if isinstance(at, int | float) and abs(at) < 1e300 else 0.0
            row = (seconds, plain(event.get("event")), json.dumps(event))
            database.execute("INSERT INTO events (session, at, event, body) VALUES (1, ?, ?, ?)", row)
        database.close()
        shown(folder)

    return read


def plain(value: object) -> str:
    """As a column of text can hold it."""
    return str(value).encode("utf-8", "replace").decode()
