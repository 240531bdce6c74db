"""What SQLite, the system and a spoilt row raise, as one sentence with a remedy."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from trainer.logbook.errors import LogbookError

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


def is_damage(error: sqlite3.Error) -> bool:
    """The file is no sound database."""
    return _code(error) in _DAMAGED


def _code(error: sqlite3.Error) -> int:
    """The primary result code; the extended ones keep it in the low byte."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def no_session(session_id: int) -> LogbookError:
    return LogbookError(f"the logbook has no session {session_id}", "start one first")


@contextmanager
def explained(path: Path, session_id: int | None = None) -> Iterator[None]:
    """Inside it whatever goes wrong with the logbook at `path` is a `LogbookError`."""
    try:
        yield
    except sqlite3.Error as error:
        foreign = getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY
        if foreign and session_id is not None:
            raise no_session(session_id) from error
        cause, remedy = _CAUSES.get(_code(error), (f"SQLite says: {error}", "name another folder"))
        raise LogbookError(f"the logbook {path} cannot be used: {cause}", remedy) from error
    except (json.JSONDecodeError, OverflowError, RecursionError, UnicodeError) as error:
        raise LogbookError(
            f"the logbook {path} holds a row that is not as patternvoice writes it ({error})",
            "move the file away to start a new one",
        ) from error
    except OSError as error:
        why = error.strerror or str(error)
        raise LogbookError(
            f"the logbook {path} cannot be used ({why})", "check the folder's rights or name another"
        ) from error
