"""After the flight: every call with its score, the rule of each fault, and the words of the model call."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Footer, Static

from phraseology.assess import Verdict
from trainer.live.session import LiveSession
from trainer.screens.marks import call_title, marked, minutes
from trainer.session.events import CallMissed, SessionEnded, TraineeSpoke

LEGEND = "+ right  x wrong  - missing  ~ could be better  ? not sure, free  = model call"


class DebriefScreen(Screen[None]):
    """A list to scroll through."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,q,escape", "app.leave", "Leave", key_display="Enter"),
        Binding("l,f6", "app.light", "Light", key_display="l"),
    ]
    AUTO_FOCUS = "#debrief"

    def __init__(self, live: LiveSession, ended: SessionEnded) -> None:
        super().__init__()
        self._live = live
        self._ended = ended

    def compose(self) -> ComposeResult:
        ended, plan = self._ended, self._live.plan
        yield Static(f"Debrief | {plan.title} | {plan.callsign}", id="title", markup=False)
        yield Static(
            f"Score {ended.score:.0f} of 100   {ended.accepted} of {ended.calls} calls accepted"
            f"   {ended.reason}, {minutes(ended.at)}",
            id="result",
            markup=False,
        )
        yield Static(LEGEND, id="legend", markup=False)
        with VerticalScroll(id="debrief"):
            for number, call in enumerate(self._live.calls, 1):
                title = call_title(call.call) if isinstance(call, CallMissed) else call.assessment.title
                yield Static(f"{number:>2}   {title}", classes="head", markup=False)
                yield Static(call_account(call), classes="account")
            if not self._live.calls:
                yield Static("No call was made and none was missed.")
        yield Footer()


def call_account(call: TraineeSpoke | CallMissed) -> Content:
    """Everything about one call but its name."""
    if isinstance(call, CallMissed):
        return Content.styled(f"{minutes(call.at)}  - missed, 0: {call.consequence}", "$error")
    judged = call.assessment
    lines = [Content(f"{minutes(call.at)}  {call.heard.text}"), marked(judged)]
    for fault in judged.faults:
        if fault.verdict is not Verdict.UNSURE:
            lines.append(Content(f"{fault.element}: {fault.rule}"))
    if judged.faults:
        lines.append(Content.styled(f"= {judged.model_call or '(silence)'}", "$secondary"))
    return Content("\n").join(lines)
