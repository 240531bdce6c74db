"""The logbook keeps what was written, whatever happens next, and says plainly when it cannot."""

import os
import signal
import sqlite3
import stat
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.logbook import schema
from trainer.logbook.errors import LogbookError
from trainer.logbook.store import FILE_NAME, Logbook

Child = Callable[..., subprocess.Popen[str]]
META = {"drill": "first_flight", "seed": 7}
STARTED = "2025-01-31T18:00:00+01:00"

WRITE_FOR_EVER = """
import itertools, sys
from pathlib import Path
from trainer.logbook.store import Logbook
logbook = Logbook.open(Path(sys.argv[1]))
session = logbook.start_session({}, "2025-01-31T18:00:00")
for number in itertools.count():
    logbook.write(session, {"event": "LegEntered", "at": number / 10, "number": number, "fill": "x" * 500})
    print(number, flush=True)
"""

WRITE_UNTIL_FULL = """
import itertools, resource, signal, sys
from pathlib import Path
from trainer.logbook.errors import LogbookError
from trainer.logbook.store import Logbook
logbook = Logbook.open(Path(sys.argv[1]))
session = logbook.start_session({}, "2025-01-31T18:00:00")
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
try:
    for number in itertools.count():
        logbook.write(session, {"event": "LegEntered", "at": 0.0, "number": number, "fill": "x" * 500})
except LogbookError as error:
    print(number)
    print(error)
"""


def test_what_was_written_is_read(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook:
        first = logbook.start_session(META, STARTED)
        second = logbook.start_session({}, STARTED)
        events = [
            {"event": "LegEntered", "at": 1.5, "leg": "initial"},
            {"event": "CallDue", "at": 2, "x": ["ä"]},
        ]
        for event in events:
            logbook.write(first, event)
        logbook.finish(first, {"score": 87.5}, Path("session-1.wav"))
    with Logbook.open(tmp_path) as logbook:
        assert logbook.events(first) == events
        assert logbook.events(second) == []
        ended, open_still = logbook.sessions()
        assert (ended.id, ended.started, ended.meta) == (first, STARTED, META)
        assert (ended.summary, ended.recording, ended.events) == ({"score": 87.5}, "session-1.wav", 2)
        assert (open_still.summary, open_still.recording, open_still.events) == (None, None, 0)
        assert logbook.notice is None


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.dictionaries(st.text(), JSON, max_size=4), max_size=5))
def test_any_event_comes_back_as_it_was(tmp_path: Path, bodies: list[dict[str, Any]]) -> None:
    events = [{**body, "event": "Any", "at": float(place)} for place, body in enumerate(bodies)]
    with Logbook.open(tmp_path) as logbook:
        session = logbook.start_session({}, STARTED)
        for event in events:
            logbook.write(session, event)
        assert logbook.events(session) == events


def test_each_event_is_on_the_disk_when_write_returns(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook, Logbook.open(tmp_path) as other:
        session = logbook.start_session({}, STARTED)
        for number in range(3):
            logbook.write(session, {"event": "A", "at": number})
            assert len(other.events(session)) == number + 1
        mode = sqlite3.connect(logbook.path).execute("PRAGMA journal_mode").fetchone()
        assert mode == ("wal",)


def test_a_killed_program_loses_nothing_that_was_written(tmp_path: Path, child: Child) -> None:
    process = child(WRITE_FOR_EVER, tmp_path)
    assert process.stdout
    for _ in range(50):
        assert process.stdout.readline(), process.communicate()[1]
    process.send_signal(signal.SIGKILL)
    rest = process.stdout.read().split("\n")
    written = 50 + sum(1 for line in rest[:-1] if line)
    with Logbook.open(tmp_path) as logbook:
        assert logbook.notice is None
        numbers = [event["number"] for event in logbook.events(1)]
        assert numbers == list(range(len(numbers)))
        assert len(numbers) - written in (0, 1)
        assert logbook.sessions()[0].summary is None


def test_files_are_for_this_user_only(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    with Logbook.open(folder) as logbook:
        logbook.start_session({}, STARTED)
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        names = {path.name for path in folder.iterdir()}
        assert names == {FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"}
        assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}


def spoil_header(path: Path) -> None:
    path.write_bytes(b"this is no database " * 500)


def spoil_middle(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[4096 : len(data) - 4096] = b"\xa5" * (len(data) - 8192)
    path.write_bytes(data)


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:6000])


@pytest.mark.parametrize("spoil", [spoil_header, spoil_middle, cut_short])
def test_a_damaged_logbook_is_kept_aside_and_said(tmp_path: Path, spoil: Callable[[Path], None]) -> None:
    for number in (1, 2):
        with Logbook.open(tmp_path) as logbook:
            session = logbook.start_session({}, STARTED)
            for at in range(50):
                logbook.write(session, {"event": "A", "at": at, "fill": "x" * 400})
        spoil(tmp_path / FILE_NAME)
        spoilt = (tmp_path / FILE_NAME).read_bytes()
        with Logbook.open(tmp_path) as logbook:
            aside = f"logbook-corrupt-{number}.sqlite3"
            assert (
                logbook.notice == f"The logbook was damaged; it is kept as {aside} and a new one was started."
            )
            assert logbook.sessions() == []
            assert (tmp_path / aside).read_bytes() == spoilt


def test_an_unknown_session_is_refused(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook:
        with pytest.raises(LogbookError, match=r"^the logbook has no session 9; start one first\.$"):
            logbook.write(9, {"event": "A", "at": 0.0})
        with pytest.raises(LogbookError, match=r"^the logbook has no session 9; start one first\.$"):
            logbook.finish(9, {}, None)


def test_a_newer_logbook_and_another_programs_database_are_left_alone(tmp_path: Path) -> None:
    Logbook.open(tmp_path).close()
    with sqlite3.connect(tmp_path / FILE_NAME) as connection:
        connection.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    connection.close()
    with pytest.raises(LogbookError, match="was written by a newer patternvoice; update this one"):
        Logbook.open(tmp_path)
    other = tmp_path / "other"
    other.mkdir()
    with sqlite3.connect(other / FILE_NAME) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.close()
    with pytest.raises(LogbookError, match="is the database of another program; name another folder"):
        Logbook.open(other)
    assert [path.name for path in other.iterdir() if "corrupt" in path.name] == []


def test_migrations_run_once_in_order_and_wholly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Logbook.open(tmp_path) as logbook:
        session = logbook.start_session(META, STARTED)
    step = ("ALTER TABLE sessions ADD COLUMN pilot TEXT", "UPDATE sessions SET pilot = 'x'")
    broken = (*step, "CREATE NONSENSE")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, broken))
    monkeypatch.setattr(schema, "VERSION", len(schema.MIGRATIONS))
    with pytest.raises(LogbookError, match="cannot be used"):
        Logbook.open(tmp_path)
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS[:-1], step))
    for _ in range(2):
        with Logbook.open(tmp_path) as logbook:
            assert [row.id for row in logbook.sessions()] == [session]
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    assert connection.execute("SELECT pilot FROM sessions").fetchall() == [("x",)]
    assert schema.version(connection) == schema.VERSION
    connection.close()


def test_a_full_disk_is_one_sentence_and_loses_nothing(tmp_path: Path, child: Child) -> None:
    said, trouble = child(WRITE_UNTIL_FULL, tmp_path).communicate()
    assert trouble == ""
    written, sentence = said.strip().split("\n")
    path = tmp_path / FILE_NAME
    assert sentence == (
        f"the logbook {path} cannot be used: the disk gives an error or is full; "
        "make room on it or use another."
    )
    with Logbook.open(tmp_path) as logbook:
        assert logbook.notice is None
        assert [event["number"] for event in logbook.events(1)] == list(range(int(written)))


def test_a_really_full_disk(small_disk: Path) -> None:
    written = 0
    with Logbook.open(small_disk) as logbook:
        session = logbook.start_session({}, STARTED)
        with pytest.raises(LogbookError, match=r"the disk (is|gives an error or is) full; make room on it"):
            while True:
                logbook.write(session, {"event": "A", "at": written, "fill": "x" * 500})
                written += 1
        assert len(logbook.events(session)) == written > 10


def test_a_read_only_disk(small_disk: Path) -> None:
    with Logbook.open(small_disk) as logbook:
        logbook.start_session({}, STARTED)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(
        LogbookError, match=r"cannot be used \(Read-only file system\); check the folder's rights"
    ):
        Logbook.open(small_disk)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_without_the_right_to_write(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(LogbookError, match=r"cannot be used \(Permission denied\)"):
        Logbook.open(tmp_path / "new")


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    place = tmp_path / "taken"
    place.write_text("x")
    with pytest.raises(LogbookError, match="check the folder's rights or name another"):
        Logbook.open(place)


def test_a_row_that_was_edited_by_hand(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook:
        session = logbook.start_session({}, STARTED)
        logbook.write(session, {"event": "A", "at": 0.0})
        with sqlite3.connect(logbook.path) as connection:
            connection.execute("UPDATE events SET body = '{'")
        connection.close()
        with pytest.raises(LogbookError, match="holds a row that is not as patternvoice writes it"):
            logbook.events(session)


def test_a_writer_that_holds_the_logbook_is_named_as_the_cause(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trainer.logbook.opening.BUSY_S", 0.0)
    with Logbook.open(tmp_path) as logbook:
        other = sqlite3.connect(logbook.path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogbookError, match="another program is writing to it; end that program"):
            logbook.start_session({}, STARTED)
        other.execute("ROLLBACK")
        other.close()
        assert logbook.start_session({}, STARTED) == 1
