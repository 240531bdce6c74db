"""Beside the plan, where the terminal is wide: the seconds to the next call, the leg, one's own calls."""

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Digits

from trainer.debrief.account import shown
from trainer.live.view import FlightView
from trainer.screens.line import Line
from trainer.screens.marks import minutes
from trainer.screens.panels import CallsPanel
from trainer.screens.themes import FAINT
from trainer.session.events import CallMissed, TraineeSpoke
from trainer.session.plan import SessionPlan

_SOON_S = 30.0
"""The bar is full so long before the call."""
_GOOD_SM = 10.0
"""So far and farther, statute miles, there is nothing to say of the visibility."""


class SideStrip(Vertical):
    """Values down; it asks nothing."""

    def __init__(self, plan: SessionPlan) -> None:
        super().__init__(id="side")
        poor = f" visibility {plan.visibility_sm:g}," if plan.visibility_sm < _GOOD_SM else ""
        self._weather = f"wind {plan.wind},{poor} altimeter {plan.altimeter}, information {plan.atis}"

    def compose(self) -> ComposeResult:
        yield Line("", id="side-call")
        yield Digits("", id="side-seconds")
        yield Line("", id="side-bar")
        yield Line("", id="side-leg")
        yield Line(self._weather, id="side-weather", markup=False)
        yield Line("My calls", id="side-title", markup=False)
        yield CallsPanel()

    def show(self, view: FlightView, calls: list[TraineeSpoke | CallMissed]) -> None:
        call, bar = view.call, self.query_one("#side-bar", Line)
        title, seconds, state = "No call on this leg", "", ""
        if call is not None:
            is_now = call.due_in_s <= 0
            title = f" NOW  {call.title} " if is_now else f"Next  {call.title}"
            left = call.closes_in_s if is_now else call.due_in_s
            seconds = "" if left is None else f"{max(0.0, left):.0f}"
            state = "bold reverse" if is_now else "bold"
            room = max(1, self.content_size.width - 2)
            full = round(room * min(1.0, max(0.0, left or 0.0) / _SOON_S))
            words = "s until it is late" if is_now and left is not None else "s to go" if not is_now else ""
            bar.draw(
                Content.styled("━" * full, "$primary")
                + Content.styled("·" * (room - full) + "\n" + words, FAINT)
            )
        else:
            bar.draw(" \n ")
        self.query_one("#side-call", Line).draw(Content.styled(title, state or FAINT))
        digits = self.query_one("#side-seconds", Digits)
        if digits.value != seconds:
            digits.update(seconds)
        leg = Content.styled(shown(view.leg.value), "bold")
        if view.next_leg_in_s is not None:
            leg += Content.styled(f"  {minutes(view.next_leg_in_s)} left", FAINT)
        self.query_one("#side-leg", Line).draw(leg)
        self.query_one(CallsPanel).show(calls)
