"""All sessions: the score over time, how each call and each of its elements does, streaks, practice due."""

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Footer, Static

from trainer.debrief.account import shown
from trainer.debrief.debriefing import call_title
from trainer.logbook.indexing import ANSWER
from trainer.logbook.progress import CallProgress, ElementProgress, Progress, SessionFigures
from trainer.screens.dots import Dots
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import PROGRESS
from trainer.screens.line import Line
from trainer.screens.themes import FAINT

BARS = "▁▂▃▄▅▆▇"
BARS_SHOWN = 12
NAME_WIDTH = 24
ELEMENTS_SHOWN = 24


class ScorePlot(Line):
    """The score of each session, as a line over the sessions."""

    def __init__(self, sessions: Sequence[SessionFigures]) -> None:
        super().__init__(id="plot")
        self._scores = [each.score for each in sessions]
        self.border_title = "score of each session"
        self.border_subtitle = f"{sessions[0].started[:10]} to {sessions[-1].started[:10]}"

    def on_resize(self, event: events.Resize) -> None:
        width, height = self.content_size
        if width >= 12 and height >= 2:
            self.draw(plot(self._scores, width, height))


class ProgressScreen(Screen[None]):
    """Shows the values that it is given; `due` names what should be practised today."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,q", "app.pop_screen", "Back", key_display="Esc"),
        Binding("l,f6", "app.light", "Light", key_display="l"),
        Binding("f1,question_mark", "help", "Help", key_display="F1"),
    ]
    AUTO_FOCUS = "#by-call"
    # Two tables side by side only where each has room for its longest line.
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (150, "-wide")]  # noqa: RUF012 - Textual's own form

    def __init__(self, progress: Progress, due: Sequence[str] = ()) -> None:
        super().__init__()
        self._progress = progress
        self._due = due

    def compose(self) -> ComposeResult:
        found = self._progress
        yield Static("Progress", id="title")
        yield Static(_in_short(found), id="result", markup=False)
        yield Static(_streak_and_due(found, self._due), id="short")
        if not found.calls:
            yield Static("No session with a call is in the logbook yet.", id="nothing")
        else:
            yield ScorePlot(found.sessions)
            with Horizontal(id="tables"):
                with VerticalScroll(id="by-call") as calls:
                    calls.border_title = "calls, the weakest first"
                    yield Static(Content("\n").join(map(call_line, found.by_call)))
                with VerticalScroll(id="by-element") as elements:
                    elements.border_title = "elements, the weakest first"
                    yield Static(Content("\n").join(map(element_line, found.by_element[:ELEMENTS_SHOWN])))
        yield Footer()

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(PROGRESS))


def _in_short(found: Progress) -> str:
    if not found.calls:
        return "Nothing flown yet"
    trend = "" if found.trend is None else f", {found.trend:+.0f} lately"
    return f"Score {found.score:.0f}{trend}   {found.accepted} of {found.calls} calls accepted"


def _streak_and_due(found: Progress, due: Sequence[str]) -> Content:
    streak = f"{found.streak} calls without a critical error, the longest {found.longest_streak}"
    words = f"! {'; '.join(due)}" if due else "nothing"
    return (
        Content.styled(f"{'Streak':10}", FAINT)
        + Content(f"{streak}\n")
        + Content.styled(f"{'Due today':10}", FAINT)
        + Content.styled(words, "bold" if due else "")
    )


def bars(shares: Sequence[float]) -> str:
    """One bar a session, 0 to 1, the newest on the right."""
    last = shares[-BARS_SHOWN:]
    heights = (round(min(1.0, max(0.0, share)) * (len(BARS) - 1)) for share in last)
    return "".join(BARS[height] for height in heights).rjust(BARS_SHOWN)


def kind_title(call: str, reply: str) -> str:
    """Of a call, or of the answer to a reply."""
    return call_title(f"{ANSWER}{reply}" if reply else call).replace("Answer: ", "to: ")


def call_line(found: CallProgress) -> Content:
    """Name, a bar for each session, the mean score, how it goes, and how many were missed."""
    name = kind_title(found.call, found.reply)[:NAME_WIDTH]
    trend = "    " if found.trend is None else f"{found.trend:+4.0f}"
    missed = f"  {found.missed} missed" if found.missed else ""
    style = "$error" if found.critical else ""
    drawn = bars([each.score / 100.0 for each in found.sessions])
    return (
        Content(f"{name:{NAME_WIDTH}} ")
        + Content.styled(drawn, "$primary")
        + Content.styled(f" {found.score:>3.0f}", "bold")
        + Content.styled(trend, FAINT)
        + Content.styled(f"{f'  {found.critical} critical' if found.critical else ''}{missed}", style)
    )


def element_line(found: ElementProgress) -> Content:
    """Element, call, a bar for each session, the share right."""
    where = kind_title(found.call, found.reply)
    words = f"{shown(found.element)}, {where.lower()}"[: NAME_WIDTH + 6]
    return (
        Content(f"{words:{NAME_WIDTH + 6}} ")
        + Content.styled(bars(found.sessions), "$primary")
        + Content.styled(f" {found.share:>4.0%}", "bold")
        + Content.styled(f"  of {found.tries}", FAINT)
    )


def plot(scores: Sequence[float], width: int, height: int) -> Content:
    """The scores, 0 to 100, as a line with a scale at its left."""
    gutter = 4
    dots = Dots(width - gutter, height)
    across, down = 2 * dots.width - 1, 4 * height - 1
    for mark in (0.0, 50.0, 100.0):
        y = down * (1.0 - mark / 100.0)
        dots.line([(0.0, y), (across + 1.0, y)], FAINT, every=4)
    steps = max(1, len(scores) - 1)
    places = [(across * i / steps, down * (1.0 - score / 100.0)) for i, score in enumerate(scores)]
    dots.line([*places, (places[-1][0] + 0.5, places[-1][1])], "$primary")
    names = {0: "100", (height - 1) // 2: " 50", height - 1: "  0"}
    rows = [
        Content.styled(f"{names.get(row, ''):{gutter}}", FAINT)
        + Content("").join(Content.styled(text, ink) for text, ink in dots.row(row))
        for row in range(height)
    ]
    return Content("\n").join(rows)
