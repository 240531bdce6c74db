"""How the trainee does over the sessions: queries of the logbook's calls and marks, as values.

Nothing is worked out twice: `progress` reads the tables once and every figure on a screen, a page or in
JSON is a view of the value that it gives.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import accumulate
from statistics import fmean, median
from typing import Any

from trainer.logbook.indexing import THE_CALL
from trainer.logbook.store import Logbook

TREND_SESSIONS = 5
"""A trend is the mean of so many last sessions less that of as many before, or of as many as there are."""
LAST_SESSIONS = 20
"""So far back go the sessions of one kind of call or element."""

_Kind = tuple[str, str]


@dataclass(frozen=True)
class SessionFigures:
    """One session's share of something: `score` the mean of its calls, 0 to 100."""

    session: int
    started: str
    calls: int
    accepted: int
    score: float


@dataclass(frozen=True)
class CallProgress:
    """One kind of call, or of answer: `call` the catalogue's name, `reply` the reply answered or "".

    `score` is the mean of all, missed ones 0; `answer_s` the median seconds to the key, None if never
    measured; `trend` in points, None with fewer than two sessions; `sessions` those of the last
    `LAST_SESSIONS` that had it, oldest first.
    """

    call: str
    reply: str
    calls: int
    accepted: int
    missed: int
    critical: int
    score: float
    answer_s: float | None
    trend: float | None
    sessions: tuple[SessionFigures, ...]


@dataclass(frozen=True)
class ElementProgress:
    """One element of one kind of call. `tries` leave out what was not heard for sure.

    `right` and `minor` are its tries without fault and with a minor one; `last_wrong` is the start of the
    last session with a worse one, "" for none. `sessions` are shares right, 0 to 1, of those of the last
    `LAST_SESSIONS` that had it, oldest first.
    """

    call: str
    reply: str
    element: str
    tries: int
    right: int
    minor: int
    critical: int
    unsure: int
    last_wrong: str
    sessions: tuple[float, ...]

    @property
    def share(self) -> float:
        """Right ones of all tries, 0 to 1; 1 where there was none."""
        return self.right / self.tries if self.tries else 1.0


@dataclass(frozen=True)
class Progress:
    """Everything. `streak` are the last calls in a row without a critical error, `longest_streak` the most
    there ever were; a missed call neither counts nor breaks one. The weakest kinds and elements first."""

    sessions: tuple[SessionFigures, ...]
    calls: int
    accepted: int
    missed: int
    score: float
    streak: int
    longest_streak: int
    answer_s: float | None
    trend: float | None
    by_call: tuple[CallProgress, ...]
    by_element: tuple[ElementProgress, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain values."""
        return asdict(self)


_CRITICAL = "SELECT critical FROM calls WHERE NOT missed ORDER BY session, id"


def progress(logbook: Logbook) -> Progress:
    """Of the whole logbook; `LogbookError` where it cannot be read."""
    sessions = tuple(
        SessionFigures(*row)
        for row in logbook.rows(
            "SELECT sessions.id, started, count(*), sum(accepted), avg(score) FROM calls"
            " JOIN sessions ON sessions.id = calls.session GROUP BY sessions.id ORDER BY sessions.id"
        )
    )
    recent = {each.session: each for each in sessions[-LAST_SESSIONS:]}
    since = min(recent, default=0)
    ((calls, accepted, missed, score),) = logbook.rows(
        "SELECT count(*), coalesce(sum(accepted), 0), coalesce(sum(missed), 0), coalesce(avg(score), 0.0)"
        " FROM calls"
    )
    times = logbook.rows("SELECT call, reply, answer_s FROM calls WHERE answer_s IS NOT NULL")
    streaks = list(
        accumulate(
            (
                critical
                for (critical,) in logbook.rows(
                    "SELECT critical FROM calls WHERE NOT missed ORDER BY session, id"
                )
            ),
            lambda streak, critical: 0 if critical else streak + 1,
            initial=0,
        )
    )
    return Progress(
        sessions=sessions,
        calls=calls,
        accepted=accepted,
        missed=missed,
        score=score,
        streak=streaks[-1],
        longest_streak=max(streaks),
        answer_s=median(answer_s for _, _, answer_s in times) if times else None,
        trend=trend([each.score for each in sessions]),
        by_call=_by_call(logbook, recent, since, times),
        by_element=_by_element(logbook, {each.session: each.started for each in sessions}, since),
    )


def trend(scores: Sequence[float]) -> float | None:
    """Of scores, oldest first: the mean of the last `TREND_SESSIONS` less that of as many before them."""
    width = min(TREND_SESSIONS, len(scores) // 2)
    if width == 0:
        return None
    return fmean(scores[-width:]) - fmean(scores[-2 * width : -width])


def _by_call(
    logbook: Logbook,
    recent: dict[int, SessionFigures],
    since: int,
    times: Sequence[tuple[str, str, float]],
) -> tuple[CallProgress, ...]:
    answers: dict[_Kind, list[float]] = defaultdict(list)
    for call, reply, answer_s in times:
        answers[call, reply].append(answer_s)
    sessions: dict[_Kind, list[SessionFigures]] = defaultdict(list)
    for call, reply, session, count, accepted, score in logbook.rows(
        "SELECT call, reply, session, count(*), sum(accepted), avg(score) FROM calls WHERE session >= ?"
        " GROUP BY call, reply, session ORDER BY session",
        (since,),
    ):
        started = recent[session].started
        sessions[call, reply].append(SessionFigures(session, started, count, accepted, score))
    found = []
    for call, reply, calls, accepted, missed, critical, score in logbook.rows(
        "SELECT call, reply, count(*), sum(accepted), sum(missed), sum(critical > 0), avg(score)"
        " FROM calls GROUP BY call, reply"
    ):
        kind = call, reply
        usual_s = median(answers[kind]) if kind in answers else None
        figures = tuple(sessions[kind])
        found.append(
            CallProgress(
                call, reply, calls, accepted, missed, critical, score, usual_s,
                trend([each.score for each in figures]), figures,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda each: (each.score, each.call, each.reply)))


def _by_element(logbook: Logbook, started: dict[int, str], since: int) -> tuple[ElementProgress, ...]:
    shares: dict[int, list[float]] = defaultdict(list)
    for item, share in logbook.rows(
        "SELECT item, right * 1.0 / tries FROM tallies WHERE session >= ? AND tries > 0 ORDER BY session",
        (since,),
    ):
        shares[item].append(share)
    found = []
    for item, wrong_in, call, reply, element, tries, right, minor, critical, unsure in logbook.rows(
        "SELECT item, wrong_in, call, reply, element, tries, right, minor, critical, unsure FROM items"
        " JOIN (SELECT item, max(CASE WHEN worst = 1 THEN session END) AS wrong_in, sum(tries) AS tries,"
        " sum(right) AS right, sum(minor) AS minor, sum(critical) AS critical, sum(unsure) AS unsure"
        " FROM tallies GROUP BY item) ON item = items.id WHERE element <> ?",
        (THE_CALL,),
    ):
        last_wrong = started.get(wrong_in, "")
        shown = tuple(shares[item])
        found.append(
            ElementProgress(call, reply, element, tries, right, minor, critical, unsure, last_wrong, shown)
        )
    return tuple(sorted(found, key=lambda each: (each.share, -each.tries, each.call, each.reply)))
