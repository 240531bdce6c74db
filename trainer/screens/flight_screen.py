"""The screen of the flight: what is going on, what was said, and what to say next."""

from dataclasses import replace
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Input

from trainer.live.chart import Chart
from trainer.live.session import LiveSession
from trainer.live.view import FlightView, view_of
from trainer.screens.conversation import Conversation
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import FLIGHT
from trainer.screens.panels import EarsLine, HintLine, NextLine, TitleLine, TowerPanel
from trainer.screens.pattern_strip import PatternStrip
from trainer.screens.plan_view import PlanView
from trainer.screens.side_strip import SideStrip
from trainer.screens.talk_button import TalkButton
from trainer.session.events import Event, TowerSpoke


class FlightScreen(Screen[None]):
    """Shows the session; what the trainee does is posted, but for what only changes the showing."""

    class Talked(Message):
        """The talk key went down or up."""

        def __init__(self, down: bool) -> None:
            super().__init__()
            self.down = down

    class Typed(Message):
        """A call was typed."""

        def __init__(self, line: str) -> None:
            super().__init__()
            self.line = line

    class TypingChanged(Message):
        """There is something on the typed line, or no longer."""

        def __init__(self, typing: bool) -> None:
            super().__init__()
            self.typing = typing

    class PauseToggled(Message):
        """The clock is to stop, or to go on."""

    class Passed(Message):
        """The call that is due will not be made."""

    BINDINGS: ClassVar[list[BindingType]] = [
        # A letter goes to the typed line while that has the focus; a function key never does.
        Binding("space", "talk", "Talk", key_display="Space"),
        Binding("f3", "talk", "Talk", show=False),
        Binding("enter", "type", "Type", key_display="Enter"),
        Binding("escape", "leave_line", "Leave line"),
        Binding("f2,h", "hint", "Hint", key_display="F2"),
        Binding("f4,p", "pause", "Pause", key_display="F4"),
        Binding("f5,g", "go_on", "Pass", key_display="F5"),
        Binding("f6,l", "app.light", "Light", key_display="F6", show=False),
        Binding("f7,m", "plan", "Map", key_display="F7"),
        Binding("f8,n", "turn", "Turn the plan", key_display="F8", show=False),
        Binding("f1,question_mark", "help", "Help", key_display="F1"),
        Binding("q", "app.leave", "Quit", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self, live: LiveSession) -> None:
        super().__init__()
        self._live = live
        self._hint = live.plan.hints
        self._chart = Chart(live)
        self._shown: FlightView | None = None
        """What all lines but that of the ears show."""

    def compose(self) -> ComposeResult:
        plan = self._live.plan
        yield TitleLine(self._live)
        yield PatternStrip()
        yield NextLine()
        yield TowerPanel(plan)
        with Horizontal(id="middle"):
            yield PlanView(self._chart)
            yield SideStrip(plan)
            yield Conversation(plan.field.tower, plan.callsign)
        with Vertical(id="bottom"):
            yield HintLine()
            yield EarsLine()
            with Horizontal(id="speak"):
                yield TalkButton()
                yield Input(placeholder="or type the call here, Enter says it", compact=True, id="typed")
        yield Footer()

    def on_mount(self) -> None:
        if self._live.no_microphone is not None:
            self.query_one("#typed", Input).focus()
        self.call_after_refresh(self._show_anew)

    def on_resize(self) -> None:
        self.call_after_refresh(self._show_anew)

    def show(self, events: list[Event]) -> None:
        """Show what happened, and the session as it is now."""
        conversation = self.query_one(Conversation)
        for event in events:
            conversation.add(event)
            if isinstance(event, TowerSpoke):
                self.query_one(TowerPanel).show(event)
        view = view_of(self._live)
        self.query_one(EarsLine).show(view)
        self.query_one(TalkButton).show(self._live)
        if events or replace(view, mic=None) != self._shown:  # a clock that stands leaves the rest as it is
            self._shown = replace(view, mic=None)
            self._show_flight(view)

    def _show_anew(self) -> None:
        """There is room for more, or for less, or something else is to be shown."""
        self._shown = None
        self.show([])

    def _show_flight(self, view: FlightView) -> None:
        self.query_one(TitleLine).show(view)
        self.query_one(PatternStrip).show(view)
        self.query_one(NextLine).show(view)
        self.query_one(HintLine).show(view, self._hint)
        if (plan := self.query_one(PlanView)).is_on_screen:
            plan.show(self._chart.view())
        if (side := self.query_one(SideStrip)).is_on_screen:
            side.show(view, self._live.calls)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """No talk key without a microphone; nothing to leave where the typed line has not the focus."""
        if action == "talk":
            return self._live.hearing is not None
        return isinstance(self.focused, Input) if action == "leave_line" else True

    def action_talk(self) -> None:
        self.post_message(self.Talked(not self._live.key_down))

    def action_type(self) -> None:
        self.query_one("#typed", Input).focus()

    def action_leave_line(self) -> None:
        self.set_focus(None)

    def action_hint(self) -> None:
        levels = HintLine.LEVELS
        self._hint = levels[(levels.index(self._hint) + 1) % len(levels)]
        self._show_anew()

    def action_plan(self) -> None:
        """Narrow: the plan in place of the conversation, and back. Wide: away, and back."""
        self.toggle_class("-plan")
        self.call_after_refresh(self._show_anew)

    def action_turn(self) -> None:
        self.query_one(PlanView).turn()

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(FLIGHT))

    def action_pause(self) -> None:
        self.post_message(self.PauseToggled())

    def action_go_on(self) -> None:
        self.post_message(self.Passed())

    @on(TalkButton.Pressed)
    def _pressed(self) -> None:
        self.post_message(self.Talked(True))

    @on(TalkButton.Released)
    def _released(self) -> None:
        self.post_message(self.Talked(False))

    @on(Input.Changed, "#typed")
    def _changed(self, event: Input.Changed) -> None:
        self.post_message(self.TypingChanged(bool(event.value.strip())))

    @on(Input.Submitted, "#typed")
    def _submitted(self, event: Input.Submitted) -> None:
        event.input.clear()
        self.post_message(self.Typed(event.value))
