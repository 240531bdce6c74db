"""The logbook in SQLite: an event that was written is on the disk before `write` returns."""

import json
import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trainer.logbook import schema
from trainer.logbook.errors import LogbookError

FILE_NAME = "logbook.sqlite3"

_BUSY_S = 5.0
"""How long to wait for another program that is writing, seconds."""

_CAUSES = {
    sqlite3.SQLITE_FULL: ("the disk is full", "make room on it"),
    sqlite3.SQLITE_IOERR: ("the disk gives an error or is full", "make room on it or use another"),
    sqlite3.SQLITE_READONLY: ("it is read-only", "change its rights or name another folder"),
    sqlite3.SQLITE_PERM: ("it may not be written", "change its rights or name another folder"),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "check the folder's rights or name another"),
    sqlite3.SQLITE_BUSY: ("another program is writing to it", "end that program"),
    sqlite3.SQLITE_LOCKED: ("another program is writing to it", "end that program"),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "start again: it is then moved aside"),
    sqlite3.SQLITE_NOTADB: ("it is damaged", "start again: it is then moved aside"),
}
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


@dataclass(frozen=True)
class SessionRow:
    """One session. `summary` is None if it did not end in order; `events` is how many were written."""

    id: int
    started: str
    meta: dict[str, Any]
    summary: dict[str, Any] | None
    recording: str | None
    events: int


class Logbook:
    """Sessions and their events. One thread uses it; every method may raise `LogbookError`."""

    def __init__(self, connection: sqlite3.Connection, path: Path, notice: str | None) -> None:
        self._connection = connection
        self.path = path
        self.notice = notice
        """One sentence that the user should read, or None."""

    @classmethod
    def open(cls, folder: Path) -> "Logbook":
        """The logbook in this folder; both are made, for this user only, if they are not there.

        A damaged logbook is moved aside, never deleted, and `notice` says so.
        """
        path = folder / FILE_NAME
        notice = None
        with _explained(path):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            try:
                connection = _connect(path)
            except sqlite3.DatabaseError as error:
                if _code(error) not in _DAMAGED:
                    raise
                aside = _move_aside(path)
                notice = f"The logbook was damaged; it is kept as {aside.name} and a new one was started."
                connection = _connect(path)
        return cls(connection, path, notice)

    def start_session(self, meta: Mapping[str, Any], started: str) -> int:
        """A new session; `started` is ISO 8601. Returns its number."""
        with _explained(self.path):
            row = self._connection.execute(
                "INSERT INTO sessions (started, meta) VALUES (?, ?)", (started, _json(meta))
            )
        assert row.lastrowid is not None  # an INSERT into a table with an integer key
        return row.lastrowid

    def write(self, session_id: int, event: Mapping[str, Any]) -> None:
        """Keep one event, as `Event.as_json` gives it: with `event`, its name, and `at`, session seconds."""
        with _explained(self.path, session_id):
            self._connection.execute(
                "INSERT INTO events (session, at, event, body) VALUES (?, ?, ?, ?)",
                (session_id, event["at"], event["event"], _json(event)),
            )

    def finish(self, session_id: int, summary: Mapping[str, Any], recording: str | None) -> None:
        """The session ended in order; `recording` is a file name beside the logbook."""
        with _explained(self.path, session_id):
            done = self._connection.execute(
                "UPDATE sessions SET summary = ?, recording = ? WHERE id = ?",
                (_json(summary), recording, session_id),
            )
        if done.rowcount == 0:
            raise _no_session(session_id)

    def sessions(self) -> list[SessionRow]:
        """Every session, oldest first."""
        with _explained(self.path):
            rows = self._connection.execute(
                "SELECT id, started, meta, summary, recording,"
                " (SELECT count(*) FROM events WHERE session = sessions.id) FROM sessions ORDER BY id"
            ).fetchall()
            return [
                SessionRow(
                    id=number,
                    started=started,
                    meta=json.loads(meta),
                    summary=json.loads(summary) if summary else None,
                    recording=recording,
                    events=events,
                )
                for number, started, meta, summary, recording, events in rows
            ]

    def events(self, session_id: int) -> list[dict[str, Any]]:
        """The session's events as they were written, in that order."""
        with _explained(self.path):
            rows = self._connection.execute(
                "SELECT body FROM events WHERE session = ? ORDER BY id", (session_id,)
            ).fetchall()
            return [json.loads(body) for (body,) in rows]

    def close(self) -> None:
        """Nothing is lost without it: it only tidies the files."""
        self._connection.close()

    def __enter__(self) -> "Logbook":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _json(value: Mapping[str, Any]) -> str:
    return json.dumps(value, allow_nan=False, separators=(",", ":"))


def _connect(path: Path) -> sqlite3.Connection:
    """The database, checked and brought to the present tables."""
    # SQLite gives its side files the rights of the main one, so that one is made first.
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    connection = sqlite3.connect(path, timeout=_BUSY_S, isolation_level=None)
    try:
        verdict = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        if verdict != "ok":
            damaged = sqlite3.DatabaseError(verdict)
            damaged.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
            raise damaged
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")  # a power cut takes nothing that was written
        connection.execute("PRAGMA foreign_keys = ON")
        found = schema.version(connection)
        if found > schema.VERSION:
            raise LogbookError(
                f"{path} was written by a newer patternvoice", "update this one, or name another folder"
            )
        if found == 0 and connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            raise LogbookError(f"{path} is the database of another program", "name another folder")
        if found < schema.VERSION:
            schema.migrate(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _move_aside(path: Path) -> Path:
    """Rename a damaged logbook and what lies in its side files; returns its new name."""
    number = 1
    while (aside := path.with_name(f"logbook-corrupt-{number}.sqlite3")).exists():
        number += 1
    path.rename(aside)
    for ending in ("-wal", "-shm"):
        side = path.with_name(path.name + ending)
        if side.exists():
            side.rename(aside.with_name(aside.name + ending))
    return aside


def _code(error: sqlite3.Error) -> int:
    """The primary result code; the extended ones keep it in the low byte."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def _no_session(session_id: int) -> LogbookError:
    return LogbookError(f"the logbook has no session {session_id}", "start one first")


@contextmanager
def _explained(path: Path, session_id: int | None = None) -> Iterator[None]:
    """What SQLite and the system raise, as one sentence."""
    try:
        yield
    except sqlite3.Error as error:
        code = _code(error)
        foreign = getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY
        if foreign and session_id is not None:
            raise _no_session(session_id) from error
        cause, remedy = _CAUSES.get(code, (f"SQLite says: {error}", "name another folder"))
        raise LogbookError(f"the logbook {path} cannot be used: {cause}", remedy) from error
    except json.JSONDecodeError as error:
        raise LogbookError(
            f"the logbook {path} holds a row that is not as patternvoice writes it ({error})",
            "move the file away to start a new one",
        ) from error
    except OSError as error:
        why = error.strerror or str(error)
        raise LogbookError(
            f"the logbook {path} cannot be used ({why})", "check the folder's rights or name another"
        ) from error
