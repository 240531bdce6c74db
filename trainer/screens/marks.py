"""Marks and clock as the screens write them. Colour is added to signs, never in their place."""

from textual.content import Content

from phraseology.assess import Assessment
from phraseology.calls import CALLS
from trainer.account import mark_line, verdict_word

FAINT = "$foreground 60%"

_STYLES = {"+": "$success", "x": "bold $error", "-": "bold $error", "~": "$warning", "?": "$secondary"}
"""By the first character of a mark."""


def minutes(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def call_title(name: str) -> str:
    """The title of a call by its name; what has none is an answer to the tower."""
    return CALLS[name].title if name in CALLS else "Answer"


def marked(assessment: Assessment) -> Content:
    """The marks of a call, its score and whether it was accepted."""
    marks = [Content.styled(mark, _STYLES[mark[0]]) for mark in mark_line(assessment).split("  ")]
    result = f"[{verdict_word(assessment)}, {assessment.score}]"
    return Content("  ").join([*marks, Content.styled(result, "bold")])
