"""The account of a session: lines that a person reads while it runs, and the values of its debrief.

Views of events and assessments only; the same text on the console, in the log and in the tests. The
values are what `debriefing.py` makes of a session in the logbook; page and screen are views of them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from phraseology.assess import Assessment, Judged, Verdict
from phraseology.elements import Severity
from trainer.session.events import (
    CallDue,
    CallMissed,
    DifficultyChanged,
    Event,
    Happened,
    LegEntered,
    LightSignal,
    NotUnderstood,
    OtherSpoke,
    SessionEnded,
    TowerSpoke,
    TraineeSpoke,
)

MARKS = {
    Verdict.RIGHT: "+",
    Verdict.WRONG: "x",
    Verdict.MISSING: "-",
    Verdict.EXTRA: "~",
    Verdict.ORDER: "~",
    Verdict.NONSTANDARD: "~",
    Verdict.UNSURE: "?",
}
"""One character a verdict, so that colour is never the only sign."""

Outcome = Literal["accepted", "not accepted", "not clear", "missed"]
"""What became of a call; each but the last as `verdict_word` says it."""


@dataclass(frozen=True)
class Mark:
    """One element of a call as judged; the strings are as people read them, "" for none."""

    element: str
    verdict: Verdict
    severity: Severity
    expected: str
    heard: str
    rule: str
    source: str

    @property
    def sign(self) -> str:
        return MARKS[self.verdict]


@dataclass(frozen=True)
class CallAccount:
    """One call of the trainee, or one that he did not make.

    `at` and `answer_s` are session seconds; `answer_s` from when it was due, or the tower had finished, to
    the key, None where that is not known. `call` is the catalogue's name, `reply` the name of the reply that
    it answers, "" for a call of his own. `asked` is what the tower had said, `answered` what it said to
    this call and `reasons` why. `note` is the instructor's word in the drill. `place` is NM east and north
    of the threshold. `consequence` is set for a missed call.
    """

    number: int
    at: float
    call: str
    reply: str
    title: str
    outcome: Outcome
    score: int
    heard: str
    model_call: str
    marks: tuple[Mark, ...]
    asked: str
    answered: str
    reasons: tuple[str, ...]
    note: str
    advice: tuple[str, ...]
    consequence: str
    answer_s: float | None
    leg: str
    place: tuple[float, float] | None

    @property
    def faults(self) -> tuple[Mark, ...]:
        return tuple(mark for mark in self.marks if mark.verdict is not Verdict.RIGHT)

    @property
    def critical(self) -> bool:
        return any(mark.severity is Severity.CRITICAL for mark in self.marks)


@dataclass(frozen=True)
class Transmission:
    """Somebody on the frequency: `at` session seconds, `seconds` how long (about, where it was not recorded).
    `number` is the trainee's call of that number, None for others."""

    at: float
    seconds: float
    station: str
    words: str
    blocked: bool
    number: int | None = None


@dataclass(frozen=True)
class Chart:
    """The ground under a flight, NM east and north of the threshold: runway ends, points, what was flown.

    `track` are session second, east, north, feet, and the leg.
    """

    runway: tuple[tuple[float, float], tuple[float, float]]
    points: dict[str, tuple[float, float]]
    track: tuple[tuple[float, float, float, float, str], ...]


@dataclass(frozen=True)
class SessionAccount:
    """A whole session. `ended` None: it did not end in order; then the figures are of the calls there are.

    `work_on` are the lines of advice for the whole session, what cost most first. `verdict` says whether a
    drill was passed, "" where there is no mark. `happened` are session seconds and what befell him.
    """

    session: int
    started: str
    title: str
    field: str
    runway: str
    callsign: str
    pace: str
    ended: float | None
    reason: str
    score: float
    accepted: int
    calls: tuple[CallAccount, ...]
    on_air: tuple[Transmission, ...]
    work_on: tuple[str, ...]
    verdict: str
    happened: tuple[tuple[float, str], ...]
    chart: Chart | None


def shown(value: str) -> str:
    """A value as a person reads it: "touch_and_go" is "touch and go"."""
    return value.replace("_", " ")


def mark_line(assessment: Assessment) -> str:
    """One line of marks: "+ callsign  + gear  x intention (full stop, not touch and go)"."""
    return "  ".join(_mark(judged) for judged in assessment.elements) or "+ silence"


def _mark(judged: Judged) -> str:
    name = f"{MARKS[judged.verdict]} {judged.element}"
    if judged.verdict is Verdict.RIGHT:
        return name
    if judged.verdict is Verdict.MISSING:
        return f"{name} (missing: {shown(judged.expected)})"
    if judged.verdict is Verdict.WRONG and judged.expected:
        return f"{name} ({shown(judged.heard)}, not {shown(judged.expected)})"
    if judged.verdict is Verdict.UNSURE:
        return f"{name} (not sure)"
    return f"{name} ({judged.verdict.value}: {shown(judged.heard)})"


def verdict_word(assessment: Assessment) -> str:
    if assessment.unsure:
        return "not clear"
    return "accepted" if assessment.accepted else "not accepted"


def assessment_lines(assessment: Assessment) -> list[str]:
    """The whole judgement of one call, with the rule and source of each deduction and the model call."""
    if assessment.nothing_heard:
        return [
            f"{assessment.title}: not heard, {assessment.score} of 100",
            "  Nothing was heard, and a call is due: say it.",
            f"  model  {assessment.model_call}",
        ]
    lines = [f"{assessment.title}: {verdict_word(assessment)}, {assessment.score} of 100"]
    lines.append(f"  heard  {assessment.heard or '(nothing)'}")
    for judged in assessment.elements:
        lines.append(f"  {_mark(judged)}{_severity(judged)}")
        if judged.verdict is not Verdict.RIGHT:
            lines.append(f"      {judged.rule}")
    lines.append(f"  model  {assessment.model_call or '(silence)'}")
    return lines


def _severity(judged: Judged) -> str:
    return "" if judged.severity is Severity.NONE else f"  {judged.severity.value}"


def event_lines(event: Event, trainee: str) -> list[str]:
    """The lines of one event; none for what the console need not show."""
    clock = f"{int(event.at) // 60:02d}:{event.at % 60:04.1f}"
    match event:
        case LegEntered() if event.aircraft == trainee:
            return [f"{clock}  - {shown(event.leg)}"]
        case TowerSpoke():
            return [
                f"{clock}  TOWER    {event.words}",
                *(f"{'':9}why      {reason}" for reason in event.reasons),
            ]
        case OtherSpoke():
            return [f"{clock}  {event.aircraft:8} {event.words}"]
        case TraineeSpoke():
            return _trainee_lines(event, clock, trainee)
        case NotUnderstood():
            return [f"{clock}  {trainee:8} (nothing understood)"]
        case CallMissed():
            return [f"{clock}  missed   {shown(event.call)}: {event.consequence}"]
        case Happened():
            return [f"{clock}  !        {event.words}"]
        case LightSignal():
            return [f"{clock}  LIGHT    {event.signal}: {event.meaning}"]
        case DifficultyChanged():
            return [f"{clock}  level    {event.level:g} of 100, {event.why}"]
        case SessionEnded():
            return [
                f"{clock}  end      {event.reason}; {event.accepted} of {event.calls} calls accepted,"
                f" score {event.score:.0f} of 100{'; ' if event.verdict else ''}{event.verdict}"
            ]
        case CallDue() | LegEntered() | _:
            return []


def _trainee_lines(event: TraineeSpoke, clock: str, trainee: str) -> list[str]:
    assessment = event.assessment
    lines = [
        f"{clock}  {trainee:8} {event.heard.text}",
        f"{'':9}marks    {mark_line(assessment)}  [{assessment.score}, {verdict_word(assessment)}]",
    ]
    for judged in assessment.faults:
        if judged.verdict is not Verdict.UNSURE:
            lines.append(f"{'':9}rule     {judged.rule}")
    if assessment.faults and not assessment.unsure:
        lines.append(f"{'':9}model    {assessment.model_call}")
    return lines


def print_events(events: Iterable[Event], trainee: str, out: object) -> None:
    """Write the account of these events to a text stream."""
    for event in events:
        for line in event_lines(event, trainee):
            print(line, file=out, flush=True)  # type: ignore[call-overload]
