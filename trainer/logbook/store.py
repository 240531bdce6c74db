"""The logbook in SQLite: an event that was written is on the disk before `write` returns."""

import json
import os
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trainer.logbook.explained import explained, no_session
from trainer.logbook.indexing import CallIndex, insert, is_timed, kept
from trainer.logbook.opening import open_or_move_aside

FILE_NAME = "logbook.sqlite3"
RECORDINGS = (".wav", ".flac")
"""How a recording's name ends."""


@dataclass(frozen=True)
class SessionRow:
    """One session. `summary` is None if it did not end in order; `events` is how many were written.

    `recording` is a file name from the logbook's folder on.
    """

    id: int
    started: str
    meta: dict[str, Any]
    summary: dict[str, Any] | None
    recording: str | None
    events: int


@dataclass(frozen=True)
class TrackPoint:
    """Where the trainee was: session second, NM east and north of the threshold, feet above sea level."""

    at: float
    east: float
    north: float
    feet: float
    leg: str


@dataclass(frozen=True)
class Clip:
    """Where a transmission lies in the recording: `start` and `seconds` of it; `at` is its event's second."""

    at: float
    station: str
    start: float
    seconds: float


class Logbook:
    """Sessions and their events. One thread uses it; every method may raise `LogbookError`."""

    def __init__(self, connection: sqlite3.Connection, path: Path, notice: str | None) -> None:
        self._connection = connection
        self._indices: dict[int, CallIndex] = {}
        self.path = path
        self.notice = notice
        """One sentence that the user should read, or None."""

    @classmethod
    def open(cls, folder: Path, *, checked: bool = True) -> "Logbook":
        """The logbook in this folder; both are made, for this user only, if they are not there.

        A damaged logbook is moved aside, never deleted, and `notice` says so. Without `checked` only its
        beginning is looked at: to read, where a fault that comes to light later does no harm.
        """
        path = folder / FILE_NAME
        with explained(path):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            connection, notice = open_or_move_aside(path, checked=checked)
        return cls(connection, path, notice)

    # -- writing ----------------------------------------------------------------------------------

    def start_session(self, meta: Mapping[str, Any], started: str) -> int:
        """A new session; `started` is ISO 8601. Returns its number."""
        with explained(self.path):
            row = self._connection.execute(
                "INSERT INTO sessions (started, meta) VALUES (?, ?)", (started, _json(meta))
            )
        assert row.lastrowid is not None  # an INSERT into a table with an integer key
        self._indices[row.lastrowid] = CallIndex(timed=is_timed(meta))
        return row.lastrowid

    def write(self, session_id: int, event: Mapping[str, Any]) -> None:
        """Keep one event, as `Event.as_json` gives it: with `event`, its name, and `at`, session seconds."""
        row = self._index_of(session_id).row(event)
        with explained(self.path, session_id), self.together():
            done = self._connection.execute(
                "INSERT INTO events (session, at, event, body) VALUES (?, ?, ?, ?)",
                (session_id, event["at"], event["event"], _json(event)),
            )
            if row is not None:
                assert done.lastrowid is not None  # as above
                insert(self._connection, session_id, done.lastrowid, event["at"], row)

    def _index_of(self, session_id: int) -> CallIndex:
        """What is known of the session's calls; of one begun by another program it is read."""
        if session_id not in self._indices:
            meta = self.rows("SELECT meta FROM sessions WHERE id = ?", (session_id,))
            if not meta:
                raise no_session(session_id)
            index = CallIndex(timed=kept(meta[0][0], is_timed))
            for (body,) in self.rows("SELECT body FROM events WHERE session = ? ORDER BY id", (session_id,)):
                kept(body, index.row)
            self._indices[session_id] = index
        return self._indices[session_id]

    def flown(self, session_id: int, point: TrackPoint) -> None:
        """Keep where the trainee is; a second that is kept already stays as it was."""
        with explained(self.path, session_id):
            self._connection.execute(
                "INSERT OR IGNORE INTO track VALUES (?, ?, ?, ?, ?, ?)",
                (session_id, point.at, point.east, point.north, point.feet, point.leg),
            )

    def recorded(self, session_id: int, clip: Clip) -> None:
        """Keep where a transmission lies in the session's recording."""
        with explained(self.path, session_id):
            self._connection.execute(
                "INSERT OR REPLACE INTO clips VALUES (?, ?, ?, ?, ?)",
                (session_id, clip.at, clip.station, clip.start, clip.seconds),
            )

    def recording_is(self, session_id: int, recording: Path | None) -> None:
        """The session's recording, from its first second on, so that it is found whatever happens."""
        with explained(self.path, session_id):
            self._connection.execute(
                "UPDATE sessions SET recording = ? WHERE id = ?", (self._name(recording), session_id)
            )

    def finish(self, session_id: int, summary: Mapping[str, Any], recording: Path | None) -> None:
        """The session ended in order."""
        with explained(self.path, session_id):
            done = self._connection.execute(
                "UPDATE sessions SET summary = ?, recording = ? WHERE id = ?",
                (_json(summary), self._name(recording), session_id),
            )
        if done.rowcount == 0:
            raise no_session(session_id)

    def _name(self, recording: Path | None) -> str | None:
        """Beside the logbook by its name there, so that the folder may be moved."""
        if recording is None:
            return None
        folder = self.path.parent
        return str(recording.relative_to(folder) if recording.is_relative_to(folder) else recording)

    # -- reading ----------------------------------------------------------------------------------

    def rows(self, query: str, parameters: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """What a SELECT gives."""
        with explained(self.path):
            return self._connection.execute(query, parameters).fetchall()

    def sessions(self, where: str = "1", parameters: Sequence[object] = ()) -> list[SessionRow]:
        """The sessions for which `where` holds, an SQL condition on `sessions`; all, oldest first."""
        rows = self.rows(
            "SELECT id, started, meta, summary, recording,"
            " (SELECT count(*) FROM events WHERE session = sessions.id)"
            f" FROM sessions WHERE {where} ORDER BY id",
            parameters,
        )
        with explained(self.path):
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
        rows = self.rows("SELECT body FROM events WHERE session = ? ORDER BY id", (session_id,))
        with explained(self.path):
            return [json.loads(body) for (body,) in rows]

    def track(self, session_id: int) -> list[TrackPoint]:
        """Where the trainee flew, in order."""
        rows = self.rows(
            "SELECT at, east, north, feet, leg FROM track WHERE session = ? ORDER BY at", (session_id,)
        )
        return [TrackPoint(*row) for row in rows]

    def clips(self, session_id: int) -> list[Clip]:
        """Where the transmissions lie in the recording, in order."""
        rows = self.rows(
            "SELECT at, station, start, seconds FROM clips WHERE session = ? ORDER BY at", (session_id,)
        )
        return [Clip(*row) for row in rows]

    def recording_path(self, row: SessionRow) -> Path | None:
        """The recording of this session, if there is one and its file is there.

        None too where the row names anything but a sound of the logbook's own folder: a logbook may come from
        elsewhere, and what it calls a recording is deleted with its session.
        """
        folder = os.path.abspath(self.path.parent)
        path = Path(os.path.abspath(os.path.join(folder, row.recording or "")))
        ours = path.suffix.lower() in RECORDINGS and path.is_relative_to(folder)
        return path if ours and path.is_file() else None

    # -- the whole --------------------------------------------------------------------------------

    def forget(self, session_ids: Sequence[int]) -> None:
        """Delete all rows of these sessions and overwrite them in the file; not the recordings."""
        with explained(self.path):
            with self.together():
                for number in session_ids:
                    self._connection.execute(
                        "DELETE FROM marks WHERE call_id IN (SELECT id FROM calls WHERE session = ?)",
                        (number,),
                    )
                    for table in ("tallies", "calls", "track", "clips", "events"):
                        self._connection.execute(f"DELETE FROM {table} WHERE session = ?", (number,))
                    self._connection.execute("DELETE FROM sessions WHERE id = ?", (number,))
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def copy_to(self, path: Path) -> None:
        """A whole copy of the database in one file, also while it is written to."""
        with explained(path):
            copy = sqlite3.connect(path)
            try:
                self._connection.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
            finally:
                copy.close()

    def close(self) -> None:
        """Nothing is lost without it: it only tidies the files."""
        self._connection.close()

    def __enter__(self) -> "Logbook":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def together(self) -> Iterator[None]:
        """All that is written inside is kept, or nothing; within another `together` it is a part of that."""
        if self._connection.in_transaction:
            yield
            return
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._connection.execute("COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise


def _json(value: Mapping[str, Any]) -> str:
    return json.dumps(value, allow_nan=False, separators=(",", ":"))
