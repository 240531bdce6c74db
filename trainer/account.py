"""The account of a session in plain lines: what a person reads while it runs and afterwards.

Views of events and assessments only; the same text on the console, in the log and in the tests.
"""

from collections.abc import Iterable

from phraseology.assess import Assessment, Judged, Verdict
from phraseology.elements import Severity
from trainer.session.events import (
    CallDue,
    CallMissed,
    Event,
    LegEntered,
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
        case SessionEnded():
            return [
                f"{clock}  end      {event.reason}; {event.accepted} of {event.calls} calls accepted,"
                f" score {event.score:.0f} of 100"
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
