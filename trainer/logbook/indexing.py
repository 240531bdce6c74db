"""What an event says about a call, as rows that can be counted: `calls`, `marks` and `tallies`.

Used when an event is written and when an old logbook is brought up to date, so that both agree.
"""

import json
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from phraseology.replies import REPLIES
from trainer.logbook.errors import LogbookError

_Read = TypeVar("_Read")

ANSWER = "answer_to_"
THE_CALL = "call"
"""The element that stands for making the call at all."""
WORSE, MINOR, RIGHT, UNSURE = 1, 2, 3, 4
"""How a try of an item went; the first three as FSRS rates them."""


@dataclass(frozen=True)
class CallRow:
    """One call or missed call. `call` is the call made, or the one whose reply is answered, "" where the
    tower spoke of itself; `reply` is that reply, "" for a call of the trainee's own."""

    call: str
    reply: str
    score: int
    accepted: bool
    missed: bool
    critical: int
    unsure: bool
    answer_s: float | None
    marks: tuple[tuple[str, str, str], ...]
    """Element, verdict and severity of each."""

    def tries(self) -> list[tuple[str, int, bool]]:
        """Element, how it went, and whether that was critical."""
        made = (THE_CALL, WORSE if self.missed else RIGHT, False)
        return [made, *((element, _went(*how), how[1] == "critical") for element, *how in self.marks)]


def _went(verdict: str, severity: str) -> int:
    if verdict == "unsure":
        return UNSURE
    if verdict == "right":
        return RIGHT
    return WORSE if severity in ("critical", "major") else MINOR


class CallIndex:
    """Takes the events of one session in order. `timed`: its seconds tell how quick the trainee was."""

    def __init__(self, *, timed: bool) -> None:
        self._timed = timed
        self._last = ""

    def row(self, event: Mapping[str, Any]) -> CallRow | None:
        """The row of this event, None if it is of no call."""
        if event["event"] not in ("TraineeSpoke", "CallMissed") or "call" not in event:
            return None
        call, reply = self._kind(event["call"])
        if event["event"] == "CallMissed":
            return CallRow(call, reply, 0, False, True, 0, False, None, ())
        marks = tuple((each["element"], each["verdict"], each["severity"]) for each in event["elements"])
        measured = self._timed and event.get("heard_by") != "typed"
        return CallRow(
            call,
            reply,
            event["score"],
            event["accepted"],
            False,
            len(event["critical"]),
            any(verdict == "unsure" for _, verdict, _ in marks),
            event.get("answer_s") if measured else None,
            marks,
        )

    def _kind(self, name: str) -> tuple[str, str]:
        if not name.startswith(ANSWER):
            self._last = name
            return name, ""
        reply = name.removeprefix(ANSWER)
        follows = reply in REPLIES and self._last in REPLIES[reply].answers
        return (self._last if follows else ""), reply


def kept(text: str, read: Callable[[Any], _Read]) -> _Read:
    """What `read` makes of a row's JSON; LogbookError where it is not as patternvoice writes it."""
    try:
        return read(json.loads(text))
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise LogbookError(
            f"the logbook holds a row that is not as patternvoice writes it ({error})",
            "move its file away to start a new one",
        ) from error


def is_timed(meta: Mapping[str, Any]) -> bool:
    """At the patient pace time stands still until the trainee speaks: how quick he was is not known."""
    return bool(meta.get("pace", "patient") != "patient")


def insert(connection: sqlite3.Connection, session: int, event_id: int, at: float, row: CallRow) -> None:
    """Keep the row under the number of its event."""
    connection.execute(
        "INSERT INTO calls VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (event_id, session, at, row.call, row.reply, row.score, row.accepted, row.missed, row.critical,
         row.unsure, row.answer_s),
    )  # fmt: skip
    connection.executemany(
        "INSERT INTO marks VALUES (?, ?, ?, ?, ?)",
        [(event_id, place, *mark) for place, mark in enumerate(row.marks)],
    )
    for element, went, critical in row.tries():
        item = row.call, row.reply, element
        connection.execute("INSERT OR IGNORE INTO items (call, reply, element) VALUES (?, ?, ?)", item)
        counts = (went != UNSURE, went == RIGHT, went == MINOR, critical and went != UNSURE, went == UNSURE)
        connection.execute(
            "INSERT INTO tallies SELECT id, ?, ?, ?, ?, ?, ?, ? FROM items"
            " WHERE call = ? AND reply = ? AND element = ? ON CONFLICT DO UPDATE SET"
            " tries = tries + excluded.tries, right = right + excluded.right, minor = minor + excluded.minor,"
            " critical = critical + excluded.critical, unsure = unsure + excluded.unsure,"
            " worst = min(worst, excluded.worst)",
            (session, *counts, went, *item),
        )


def index_all(connection: sqlite3.Connection) -> None:
    """Fill the tables from the events that there are."""
    for session, meta in connection.execute("SELECT id, meta FROM sessions ORDER BY id").fetchall():
        index = CallIndex(timed=kept(meta, is_timed))
        for event_id, at, body in connection.execute(
            "SELECT id, at, body FROM events WHERE session = ? AND event IN ('TraineeSpoke', 'CallMissed')"
            " ORDER BY id",
            (session,),
        ).fetchall():
            row = kept(body, index.row)
            if row is not None:
                insert(connection, session, event_id, at, row)
