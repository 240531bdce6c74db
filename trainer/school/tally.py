"""What the class's logbook holds, counted: of each session, each student, each element. Read by few queries.

What the instructor corrected counts as corrected.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from phraseology.assess import COST, Verdict
from phraseology.elements import Severity
from trainer.logbook.indexing import ANSWER, THE_CALL
from trainer.logbook.store import Logbook
from trainer.school.corrections import Correction, corrected, marks_of_event
from trainer.school.figures import NOT_MADE

_WHO = (
    "WITH who AS MATERIALIZED (SELECT id, meta ->> 'student' AS student,"
    " dense_rank() OVER (ORDER BY meta ->> 'student') AS n FROM sessions WHERE summary IS NOT NULL) "
)
"""Whose a session is; `n` because grouping by numbers is quicker than by texts."""


@dataclass
class SessionTally:
    """One session: `points` is the sum of its calls' scores, `answers` call and seconds where measured."""

    number: int
    student: str
    started: str
    title: str
    calls: int
    accepted: int
    points: int
    missed: int
    answers: list[tuple[str, float]] = field(default_factory=list)


FaultKey = tuple[str, str, str]
"""Call or answer by its name in events, element, verdict."""


class Tally:
    """`sessions` oldest first; of each student `tries` by element, how many and how many right, and `faults`
    by kind, how many and the points they cost."""

    def __init__(self, logbook: Logbook, made: Sequence[Correction]) -> None:
        self.tries: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
        self.faults: dict[str, dict[FaultKey, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
        self.sessions = {
            row[0]: SessionTally(*row)
            for row in logbook.rows(
                "SELECT id, meta ->> 'student', started, coalesce(meta ->> 'title', meta ->> 'demo', ''),"
                " calls, accepted, points, missed FROM sessions JOIN (SELECT session, count(*) AS calls,"
                " sum(accepted) AS accepted, sum(score) AS points, sum(missed) AS missed FROM calls"
                " GROUP BY session) ON session = id WHERE summary IS NOT NULL ORDER BY started, id"
            )
        }
        self._count_missed(logbook)
        self._count_answers(logbook)
        self._count_tries(logbook)
        self._count_faults(logbook)
        self._correct(logbook, made)

    def _count_missed(self, logbook: Logbook) -> None:
        for session, call, reply, times in logbook.rows(
            "SELECT session, call, reply, count(*) FROM calls WHERE missed GROUP BY 1, 2, 3"
        ):
            if session in self.sessions:
                key = (_name(call, reply), NOT_MADE, "missed")
                self._fault(self.sessions[session].student, key, times, 100 * times)

    def _count_answers(self, logbook: Logbook) -> None:
        for session, call, reply, answer_s in logbook.rows(
            "SELECT session, call, reply, answer_s FROM calls WHERE answer_s IS NOT NULL"
        ):
            if session in self.sessions:
                self.sessions[session].answers.append((_name(call, reply), answer_s))

    def _count_tries(self, logbook: Logbook) -> None:
        for student, element, tries, right in logbook.rows(
            f"{_WHO}SELECT student, element, tries, right FROM (SELECT student, item, sum(tries) AS tries,"
            " sum(right) AS right FROM who CROSS JOIN tallies ON session = who.id GROUP BY n, item)"
            " JOIN items ON items.id = item WHERE tries > 0 AND element <> ?",
            (THE_CALL,),
        ):
            of_element = self.tries[student][element]
            of_element[0] += tries
            of_element[1] += right

    def _count_faults(self, logbook: Logbook) -> None:
        for student, call, reply, element, verdict, severity, times in logbook.rows(
            f"{_WHO}SELECT student, call, reply, element, verdict, severity, count(*) FROM marks"
            " CROSS JOIN calls ON calls.id = call_id JOIN who ON who.id = session"
            " WHERE verdict NOT IN ('right', 'unsure') GROUP BY n, call, reply, element, verdict, severity"
        ):
            key = (_name(call, reply), element, verdict)
            self._fault(student, key, times, times * COST[Severity(severity)])

    def _fault(self, student: str, key: FaultKey, times: int, points: int) -> None:
        of_key = self.faults[student][key]
        of_key[0] += times
        of_key[1] += points
        if not of_key[0]:
            del self.faults[student][key]

    # -- what was corrected ---------------------------------------------------------------------

    def _correct(self, logbook: Logbook, made: Iterable[Correction]) -> None:
        of_event: dict[int, list[Correction]] = defaultdict(list)
        for each in made:
            of_event[each.event].append(each)
        for event, of_call in of_event.items():
            found = logbook.rows(
                "SELECT session, call, reply, score, accepted FROM calls WHERE id = ?", (event,)
            )
            for session, call, reply, score, accepted in found:
                if session not in self.sessions:
                    continue
                before = marks_of_event(logbook, event)
                after = corrected(before, of_call)
                totals = self.sessions[session]
                totals.points += after.score - score
                totals.accepted += after.accepted - accepted
                for marks, times in ((before, -1), (after.marks, 1)):
                    for mark in marks:
                        self._mark(totals.student, _name(call, reply), mark, times)

    def _mark(self, student: str, name: str, mark: tuple[str, Verdict, Severity], times: int) -> None:
        element, verdict, severity = mark
        if verdict is Verdict.UNSURE:
            return
        tries = self.tries[student][element]
        tries[0] += times
        if verdict is Verdict.RIGHT:
            tries[1] += times
        else:
            self._fault(student, (name, element, verdict.value), times, times * COST[severity])


def _name(call: str, reply: str) -> str:
    return ANSWER + reply if reply else call
