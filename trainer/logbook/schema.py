"""The tables of the logbook and the steps from each version of them to the next."""

import sqlite3
from collections.abc import Callable

from trainer.logbook.indexing import index_all

Step = str | Callable[[sqlite3.Connection], None]

MIGRATIONS: tuple[tuple[Step, ...], ...] = (
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
    (
        """
        CREATE TABLE calls (
            id INTEGER PRIMARY KEY,   -- of the event
            session INTEGER NOT NULL REFERENCES sessions (id),
            at REAL NOT NULL,         -- session seconds
            call TEXT NOT NULL,       -- the call, or the one whose reply is answered
            reply TEXT NOT NULL,      -- the reply that is answered; '': none
            score INTEGER NOT NULL,
            accepted INTEGER NOT NULL,
            missed INTEGER NOT NULL,
            critical INTEGER NOT NULL, -- how many elements
            unsure INTEGER NOT NULL,
            answer_s REAL             -- seconds to the key; NULL: not measured
        ) STRICT
        """,
        "CREATE INDEX calls_of_session ON calls (session, id, missed, critical, accepted, score)",
        "CREATE INDEX calls_of_kind ON calls (call, reply, session, accepted, missed, critical, score)",
        """
        CREATE TABLE marks (
            call_id INTEGER NOT NULL REFERENCES calls (id),
            place INTEGER NOT NULL,
            element TEXT NOT NULL,
            verdict TEXT NOT NULL,
            severity TEXT NOT NULL,
            PRIMARY KEY (call_id, place)
        ) STRICT, WITHOUT ROWID
        """,
        """
        CREATE TABLE items (          -- an element of a call, or of the answer to a reply
            id INTEGER PRIMARY KEY,
            call TEXT NOT NULL,
            reply TEXT NOT NULL,
            element TEXT NOT NULL,    -- 'call': making it at all
            UNIQUE (call, reply, element)
        ) STRICT
        """,
        """
        CREATE TABLE tallies (        -- how an item went in a session
            item INTEGER NOT NULL REFERENCES items (id),
            session INTEGER NOT NULL REFERENCES sessions (id),
            tries INTEGER NOT NULL,   -- but for those that were not heard for sure
            right INTEGER NOT NULL,
            minor INTEGER NOT NULL,
            critical INTEGER NOT NULL,
            unsure INTEGER NOT NULL,
            worst INTEGER NOT NULL,   -- 1 worse than minor, 2 minor, 3 right, 4 not heard for sure
            PRIMARY KEY (item, session)
        ) STRICT, WITHOUT ROWID
        """,
        "CREATE INDEX tallies_of_session ON tallies (session)",
        """
        CREATE TABLE track (          -- where the trainee flew
            session INTEGER NOT NULL REFERENCES sessions (id),
            at REAL NOT NULL,         -- session seconds
            east REAL NOT NULL,       -- NM from the threshold
            north REAL NOT NULL,
            feet REAL NOT NULL,       -- above sea level
            leg TEXT NOT NULL,
            PRIMARY KEY (session, at)
        ) STRICT, WITHOUT ROWID
        """,
        """
        CREATE TABLE clips (          -- where a transmission lies in the recording
            session INTEGER NOT NULL REFERENCES sessions (id),
            at REAL NOT NULL,         -- of its event
            station TEXT NOT NULL,
            start REAL NOT NULL,      -- seconds from the beginning of the recording
            seconds REAL NOT NULL,
            PRIMARY KEY (session, at, station)
        ) STRICT, WITHOUT ROWID
        """,
        index_all,
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
            for step in MIGRATIONS[number]:
                if isinstance(step, str):
                    connection.execute(step)
                else:
                    step(connection)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
