"""An instructor's corrections: another verdict on one element of one call, with the reason. The logbook's
own verdict is never changed; who reads both shows both."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from phraseology.assess import COST, Verdict
from phraseology.elements import Severity
from trainer.debrief.account import MARKS
from trainer.debrief.debriefing import call_title
from trainer.errors import TrainerError
from trainer.logbook.indexing import ANSWER
from trainer.logbook.store import Logbook
from trainer.school.classroom import Classroom, write_json

FILE = "corrections.json"
_SERIOUS = (Severity.CRITICAL, Severity.MAJOR)
_FREE = (Verdict.RIGHT, Verdict.UNSURE)
_SLIGHT = (Verdict.EXTRA, Verdict.ORDER, Verdict.NONSTANDARD)


class Correction(BaseModel):
    """`call` counts a session's calls from 1, missed ones too; `event` is the logbook's number of it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    session: int
    call: int
    event: int
    element: str
    was: Verdict
    was_severity: Severity
    now: Verdict
    now_severity: Severity
    reason: str
    made: str
    """ISO 8601."""


@dataclass(frozen=True)
class CorrectedCall:
    """A call as it counts after its corrections: verdict and severity of each mark, in its order."""

    marks: tuple[tuple[str, Verdict, Severity], ...]

    @property
    def score(self) -> int:
        """As `Assessment.score`."""
        return max(0, 100 - sum(COST[severity] for _, _, severity in self.marks))

    @property
    def accepted(self) -> bool:
        """As `Assessment.accepted`."""
        return all(
            verdict is not Verdict.UNSURE and severity not in _SERIOUS for _, verdict, severity in self.marks
        )


_ALL = TypeAdapter(list[Correction])


def corrections(room: Classroom) -> list[Correction]:
    """All of the class, oldest first; TrainerError where the file is spoilt."""
    path = room.folder / FILE
    try:
        return _ALL.validate_json(path.read_bytes())
    except FileNotFoundError:
        return []
    except OSError as error:
        raise TrainerError(f"{path} cannot be read ({error.strerror})", "see to its permissions") from error
    except ValidationError as error:
        raise TrainerError(
            f"{path} is broken ({error.errors()[0]['msg']})", "mend it, or move it away"
        ) from None


def correct(
    room: Classroom,
    session: int,
    call: int,
    element: str,
    verdict: Verdict,
    reason: str,
    severity: Severity | None = None,
    now: datetime | None = None,
) -> Correction:
    """Keep a correction and return it; TrainerError for a session, call or element that is not there.

    `severity` None: none for right and unsure, minor for extra, order and nonstandard; for wrong and missing
    what the mark had if that was worse than minor, else major. A later correction goes before an earlier one.
    """
    why = " ".join(reason.split())
    if not why:
        raise TrainerError("a correction needs its reason", 'give one with --reason "..."')
    with room.logbook() as logbook:
        event, marks = _marks_of(logbook, session, call)
    place = next((mark for mark in marks if mark[0] == element.strip().lower()), None)
    if place is None:
        raise TrainerError(
            f'call {call} of session {session} has no element "{element}"',
            f"choose one of: {', '.join(mark[0] for mark in marks)}",
        )
    name, was, was_severity = place
    made = Correction(
        session=session,
        call=call,
        event=event,
        element=name,
        was=was,
        was_severity=was_severity,
        now=verdict,
        now_severity=severity or _usual(verdict, was_severity),
        reason=why,
        made=(now or datetime.now().astimezone()).isoformat(timespec="seconds"),
    )
    if (made.was, made.was_severity) == (made.now, made.now_severity):
        raise TrainerError(f"{name} of call {call} is {was.value} already", "nothing is changed")
    write_json(room.folder / FILE, [each.model_dump(mode="json") for each in [*corrections(room), made]])
    return made


def _usual(verdict: Verdict, was: Severity) -> Severity:
    if verdict in _FREE:
        return Severity.NONE
    if verdict in _SLIGHT:
        return Severity.MINOR
    return was if was in _SERIOUS else Severity.MAJOR


def _marks_of(logbook: Logbook, session: int, call: int) -> tuple[int, list[tuple[str, Verdict, Severity]]]:
    """Number of the event and the marks of a session's nth call."""
    events = [
        number for (number,) in logbook.rows("SELECT id FROM calls WHERE session = ? ORDER BY id", (session,))
    ]
    if not events:
        raise TrainerError(f"no session {session} with calls was collected", "the student sheets list them")
    if not 1 <= call <= len(events):
        raise TrainerError(f"session {session} has no call {call}", f"it has calls 1 to {len(events)}")
    marks = marks_of_event(logbook, events[call - 1])
    if not marks:
        raise TrainerError(
            f"call {call} of session {session} was missed: it has no elements", "choose another call"
        )
    return events[call - 1], marks


def marks_of_event(logbook: Logbook, event: int) -> list[tuple[str, Verdict, Severity]]:
    """The marks of a call as it was judged: element, verdict, severity."""
    return [
        (element, Verdict(verdict), Severity(severity))
        for element, verdict, severity in logbook.rows(
            "SELECT element, verdict, severity FROM marks WHERE call_id = ? ORDER BY place", (event,)
        )
    ]


def corrected(marks: Sequence[tuple[str, Verdict, Severity]], of_call: Sequence[Correction]) -> CorrectedCall:
    """The call after its corrections, oldest first."""
    latest = {each.element: (each.element, each.now, each.now_severity) for each in of_call}
    return CorrectedCall(tuple(latest.get(mark[0], mark) for mark in marks))


def call_lines(room: Classroom, session: int) -> list[str]:
    """The calls of a session as an instructor reads them, each with its number and marks; TrainerError."""
    made = [each for each in corrections(room) if each.session == session]
    lines: list[str] = []
    with room.logbook() as logbook:
        rows = logbook.rows(
            "SELECT calls.id, call, reply, calls.at, missed, body FROM calls"
            " JOIN events ON events.id = calls.id WHERE calls.session = ? ORDER BY calls.id",
            (session,),
        )
        if not rows:
            raise TrainerError(
                f"no session {session} with calls was collected", "the student sheets list them"
            )
        for number, (event, call, reply, at, missed, body) in enumerate(rows, 1):
            what = "not made" if missed else json.loads(body).get("heard", "")
            title = call_title(ANSWER + reply if reply else call)
            lines.append(f"{number:3}. {int(at) // 60}:{int(at) % 60:02d} {title}: {what}")
            marks = [f"{MARKS[verdict]} {element}" for element, verdict, _ in marks_of_event(logbook, event)]
            if marks:
                lines.append(f"       {'  '.join(marks)}")
            for each in made:
                if each.event == event:
                    was, now = each.was.value, each.now.value
                    lines.append(f"       corrected: {each.element} {was} is {now}: {each.reason}")
    return ["".join(each if each.isprintable() else "?" for each in line) for line in lines]
