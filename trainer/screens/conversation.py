"""What was said on the frequency, in order, with the marks of one's own calls beneath them."""

from dataclasses import replace
from itertools import zip_longest

from textual.containers import VerticalScroll
from textual.content import Content
from textual.css.styles import RulesMap
from textual.selection import Selection
from textual.strip import Strip
from textual.style import Style
from textual.visual import RenderOptions, Visual
from textual.widgets import Static

from trainer.debrief.account import shown
from trainer.debrief.debriefing import call_title
from trainer.screens.marks import marked, minutes
from trainer.screens.themes import FAINT
from trainer.session.events import (
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

KEPT = 60
"""Entries on the screen; the logbook keeps all."""
GUTTER = 17
"""Columns of the time and the name."""

_NAMES = {"to-me": "bold $primary", "mine": "bold $secondary"}
_WORDS = {
    "to-me": "bold", "tower": FAINT, "other": FAINT, "missed": "bold $error", "leg": f"italic {FAINT}"
}  # fmt: skip


class _Beside(Visual):
    """The words beside the time and the name, however many lines they take."""

    def __init__(self, gutter: Content, words: Content) -> None:
        self._gutter = gutter
        self._words = words

    def __str__(self) -> str:
        return f"{self._gutter.plain}  {self._words.plain}"

    def render_strips(
        self, width: int, height: int | None, style: Style, options: RenderOptions
    ) -> list[Strip]:
        left = self._gutter.render_strips(GUTTER, height, style, replace(options, selection=None))
        right = self._words.render_strips(max(1, width - GUTTER), height, style, options)
        return [
            Strip.join([name.extend_cell_length(GUTTER, style.rich_style), line])
            for name, line in zip_longest(left, right, fillvalue=Strip([]))
        ]

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        return GUTTER + self._words.get_optimal_width(rules, container_width)

    def get_height(self, rules: RulesMap, width: int) -> int:
        beside = self._words.get_height(rules, max(1, width - GUTTER))
        return max(self._gutter.get_height(rules, GUTTER), beside)


class Entry(Static):
    """One transmission: when, who, and what was said. One widget, for there are many."""

    def __init__(self, at: float, who: str, words: Content | str, kind: str) -> None:
        self._words = Content.styled(words, _WORDS.get(kind, "")) if isinstance(words, str) else words
        gutter = Content.styled(f"{minutes(at):>5}  {who}", _NAMES.get(kind, FAINT))
        super().__init__(_Beside(gutter, self._words), markup=False)

    def get_selection(self, selection: Selection) -> tuple[str, str] | None:
        return selection.extract(self._words.plain), "\n"


class Conversation(VerticalScroll):
    """`tower` and `trainee` are the names as they are shown and as events give them."""

    def __init__(self, tower: str, trainee: str) -> None:
        super().__init__(id="conversation")
        self._tower = tower
        self._trainee = trainee

    def on_mount(self) -> None:
        self.anchor()

    def add(self, event: Event) -> None:
        """Show an event, if it is one that is said or missed, or a leg of one's own."""
        entry = self._entry(event)
        if entry is None:
            return
        self.mount(entry)
        for old in list(self.children)[:-KEPT]:
            old.remove()

    def _entry(self, event: Event) -> Entry | None:
        at = event.at
        match event:
            case TowerSpoke():
                mine = "to-me" if event.to == self._trainee else "tower"
                return Entry(at, "Tower", event.words, mine)
            case OtherSpoke():
                return Entry(at, event.aircraft, event.words, "other")
            case TraineeSpoke():
                words = Content(event.heard.text) + Content("\n") + marked(event.assessment)
                if event.assessment.faults and not event.assessment.unsure:
                    model = f"\n= {event.assessment.model_call or '(silence)'}"
                    words += Content.styled(model, "$secondary")
                return Entry(at, self._trainee, words, "mine")
            case NotUnderstood():
                return Entry(at, self._trainee, "? nothing understood; it does not count", "mine")
            case CallMissed():
                return Entry(at, "missed", f"- {call_title(event.call)}: {event.consequence}", "missed")
            case LegEntered() if event.aircraft == self._trainee:
                return Entry(at, "", f"-- {shown(event.leg)}", "leg")
            case Happened():
                return Entry(at, "!", event.words, "missed")
            case LightSignal():
                return Entry(at, "light", f"{event.signal}: {event.meaning}", "to-me")
            case DifficultyChanged():
                return Entry(at, "level", f"{event.level:g} of 100: {event.why}", "leg")
            case SessionEnded():
                return Entry(at, "end", event.reason, "leg")
            case _:
                return None
