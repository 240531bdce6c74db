"""What a person does with the logbook: find sessions, delete them with their recordings, back all up."""

import os
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from trainer.logbook.errors import LogbookError
from trainer.logbook.recordings import FOLDER
from trainer.logbook.store import FILE_NAME, Logbook, SessionRow

_TITLE = "CAST(coalesce(json_extract(meta, '$.title'), json_extract(meta, '$.demo'), '') AS TEXT)"


@dataclass(frozen=True)
class Which:
    """Which sessions: all conditions that are set must hold. Dates are ISO, of the session's own clock, and
    both count; `drill` is a part of the title; `call` a call that was made or missed, or a reply answered."""

    sessions: tuple[int, ...] = ()
    since: str | None = None
    until: str | None = None
    drill: str | None = None
    call: str | None = None

    @property
    def is_all(self) -> bool:
        return self == Which()

    def sql(self) -> tuple[str, list[object]]:
        """As a condition on the table of sessions, with its parameters."""
        parts: list[str] = ["1"]
        values: list[object] = []
        if self.sessions:
            parts.append(f"sessions.id IN ({', '.join('?' * len(self.sessions))})")
            values += self.sessions
        if self.since:
            parts.append("substr(started, 1, 10) >= ?")
            values.append(self.since)
        if self.until:
            parts.append("substr(started, 1, 10) <= ?")
            values.append(self.until)
        if self.drill:
            parts.append(f"instr(lower({_TITLE}), lower(?)) > 0")
            values.append(self.drill)
        if self.call:
            parts.append(
                "sessions.id IN (SELECT session FROM calls WHERE (call = ? AND reply = '') OR reply = ?)"
            )
            values += [self.call, self.call]
        return " AND ".join(parts), values


@dataclass(frozen=True)
class SessionLine:
    """One session in a list; `score` the mean of its calls, None where there was none."""

    id: int
    started: str
    title: str
    field: str
    callsign: str
    calls: int
    accepted: int
    score: float | None
    ended: bool
    recorded: bool


def find(logbook: Logbook, which: Which) -> list[SessionLine]:
    """The sessions, newest first; a demo is one too."""
    where, values = which.sql()
    rows = logbook.rows(
        f"SELECT id, started, {_TITLE}, CAST(coalesce(json_extract(meta, '$.field'), '') AS TEXT),"
        " CAST(coalesce(json_extract(meta, '$.callsign'), '') AS TEXT),"
        " count(call_score), coalesce(sum(call_accepted), 0),"
        " avg(call_score), summary IS NOT NULL, recording IS NOT NULL FROM (SELECT sessions.*,"
        " calls.score AS call_score, calls.accepted AS call_accepted"
        f" FROM sessions LEFT JOIN calls ON calls.session = sessions.id WHERE {where})"
        " GROUP BY id ORDER BY id DESC",
        values,
    )
    return [
        SessionLine(
            number, started, title, field, callsign, calls, accepted, score, bool(ended), bool(recorded)
        )
        for number, started, title, field, callsign, calls, accepted, score, ended, recorded in rows
    ]


def rows_of(logbook: Logbook, which: Which) -> list[SessionRow]:
    """The sessions with all that is kept beside their events, oldest first."""
    return logbook.sessions(*which.sql())


def delete(logbook: Logbook, rows: Sequence[SessionRow], *, only_recordings: bool = False) -> int:
    """Delete sessions with their recordings, or these alone; returns how many recordings there were.

    Recordings go first: what is left if that fails is still in the logbook, and can be deleted again.
    """
    deleted = 0
    for row in rows:
        path = logbook.recording_path(row)
        if path is not None:
            try:
                path.unlink()
            except OSError as error:
                raise LogbookError(
                    f"the recording {path} of session {row.id} cannot be deleted ({error.strerror})",
                    "see to its rights and delete again; the session is still in the logbook",
                ) from error
            deleted += 1
        if only_recordings:
            logbook.recording_is(row.id, None)
    if not only_recordings:
        logbook.forget([row.id for row in rows])
    return deleted


def back_up(logbook: Logbook, out: Path) -> int:
    """The whole logbook with its recordings as one ZIP file that unpacks into a data folder; `LogbookError`.

    Returns how many recordings it holds. The file is for this user only, and written whole or not at all.
    """
    if out.exists():
        raise LogbookError(f"there is a file {out} already", "name another")
    part, copy = out.with_name(f"{out.name}.part"), out.with_name(f"{out.name}.copy")
    recordings = 0
    try:
        os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600))
        os.close(os.open(copy, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600))
        logbook.copy_to(copy)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as pack:
            pack.write(copy, FILE_NAME)
            for row in logbook.sessions("recording IS NOT NULL"):
                path = logbook.recording_path(row)
                if path is not None:
                    recordings += 1
                    pack.write(path, f"{FOLDER}/{path.name}", zipfile.ZIP_STORED)
        os.replace(part, out)
    except OSError as error:
        raise LogbookError(
            f"the backup {out} cannot be written ({error.strerror})", "name a folder that has room"
        ) from error
    finally:
        part.unlink(missing_ok=True)
        copy.unlink(missing_ok=True)
    return recordings
