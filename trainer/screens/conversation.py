"""What was said on the frequency, in order, with the marks of one's own calls beneath them."""

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from trainer.debrief.account import shown
from trainer.debrief.debriefing import call_title
from trainer.screens.marks import marked, minutes
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


class Entry(Horizontal):
    """One transmission: when, who, and what was said."""

    def __init__(self, at: float, who: str, words: Content | str, kind: str) -> None:
        super().__init__(classes=kind)
        self._gutter = f"{minutes(at):>5}  {who}"
        self._words = words

    def compose(self) -> ComposeResult:
        yield Static(self._gutter, classes="gutter", markup=False)
        yield Static(self._words, classes="words", markup=False)


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
