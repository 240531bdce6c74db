"""The tables of the logbook and the steps from each version of them to the next."""

import sqlite3

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """
        CREATE TABLE sessions (
            id INTEGER PRIMARY KEY,
            started TEXT NOT NULL,    -- ISO 8601
            meta TEXT NOT NULL,       -- JSON
            summary TEXT,             -- JSON; NULL: the session did not end in order
            recording TEXT            -- file name, beside the logbook
        ) STRICT
        """,
        """
        CREATE TABLE events (
            id INTEGER PRIMARY KEY,
            session INTEGER NOT NULL REFERENCES sessions (id),
            at REAL NOT NULL,         -- session seconds
            event TEXT NOT NULL,      -- class name
            body TEXT NOT NULL        -- JSON, complete
        ) STRICT
        """,
        "CREATE INDEX events_of_session ON events (session, id)",
    ),
)
"""Entry n takes a logbook from version n to n + 1. Never change one that was released; add another."""

VERSION = len(MIGRATIONS)


def version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables to `VERSION`, all or nothing; two programs may try at once."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for number in range(version(connection), VERSION):
            for statement in MIGRATIONS[number]:
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
