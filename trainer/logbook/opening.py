"""Opening the logbook's file: made private, checked, brought to the present tables, or moved aside."""

import os
import sqlite3
from pathlib import Path

from trainer.logbook import schema
from trainer.logbook.errors import LogbookError
from trainer.logbook.explained import is_damage

BUSY_S = 5.0
"""How long to wait for another program that is writing, seconds."""


def open_or_move_aside(path: Path, *, checked: bool) -> tuple[sqlite3.Connection, str | None]:
    """The database, and a sentence where a damaged one was moved aside and a new one started."""
    try:
        return connect(path, checked=checked), None
    except sqlite3.DatabaseError as error:
        if not is_damage(error):
            raise
    aside = _move_aside(path)
    notice = f"The logbook was damaged; it is kept as {aside.name} and a new one was started."
    return connect(path, checked=False), notice


def connect(path: Path, *, checked: bool) -> sqlite3.Connection:
    """`checked`: every page is looked at, which takes a second where there are many thousand calls."""
    # SQLite gives its side files the rights of the main one, so that one is made first.
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    try:
        if checked:
            verdict = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
            if verdict != "ok":
                damaged = sqlite3.DatabaseError(verdict)
                damaged.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
                raise damaged
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")  # a power cut takes nothing that was written
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA secure_delete = ON")  # what is deleted is overwritten
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
