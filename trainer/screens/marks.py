"""Marks and clock as the screens write them. Colour is added to signs, never in their place."""

from textual.content import Content

from phraseology.assess import Assessment
from trainer.debrief.account import mark_line, verdict_word
from trainer.live.debriefing import score_of, title_of
from trainer.session.events import CallMissed, TraineeSpoke

_STYLES = {"+": "$success", "x": "bold $error", "-": "bold $error", "~": "$warning", "?": "$secondary"}
"""By the first character of a mark."""


def minutes(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def marked(assessment: Assessment) -> Content:
    """The marks of a call, its score and whether it was accepted."""
    return Content("  ").join(mark_rows(assessment))


def mark_rows(assessment: Assessment) -> list[Content]:
    """The same, piece by piece."""
    marks = [Content.styled(mark, _STYLES[mark[0]]) for mark in mark_line(assessment).split("  ")]
    result = f"[{verdict_word(assessment)}, {assessment.score}]"
    return [*marks, Content.styled(result, "bold")]


def call_sign(call: TraineeSpoke | CallMissed) -> tuple[str, str]:
    """The sign of a whole call, and the colour that goes with it."""
    if isinstance(call, CallMissed):
        return "-", "$error"
    if call.assessment.unsure:
        return "?", "$secondary"
    return ("+", "") if call.assessment.accepted else ("x", "$error")


def call_row(number: int, call: TraineeSpoke | CallMissed, width: int) -> Content:
    """One call in a list, its title in so many columns: its place, sign, title and score."""
    sign, style = call_sign(call)
    title = title_of(call).replace("Answer: ", "to: ")[:width]
    return Content.styled(f"{number:>2} {sign} {title:{width}} {score_of(call):>3}", style)
