"""After the flight: every call with its score, the rule of each fault, and the words of the model call."""

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, OptionList, Static
from textual.widgets.option_list import Option

from phraseology.assess import Verdict
from trainer.live.debriefing import Call, debriefing, score_of, title_of
from trainer.live.session import LiveSession
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import DEBRIEF
from trainer.screens.line import Line
from trainer.screens.marks import call_row, mark_rows, minutes
from trainer.screens.themes import FAINT
from trainer.session.events import CallMissed, SessionEnded

TITLE_WIDTH = 21


class DebriefScreen(Screen[None]):
    """The calls on the left, the one that is chosen on the right; it opens on the worst."""

    class SoundWanted(Message):
        """Play call `number`: as it was spoken, or its model words."""

        def __init__(self, number: int, model: bool) -> None:
            super().__init__()
            self.number = number
            self.model = model

    class SilenceWanted(Message):
        """Stop what is playing."""

    class ProgressWanted(Message):
        """Show all sessions."""

    class AnotherWanted(Message):
        """Back to the start screen, for another flight."""

    class ExportWanted(Message):
        """Write the debrief as a page."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "mine", "Mine"),
        Binding("w", "model", "Model"),
        Binding("s", "silence", "Stop", show=False),
        Binding("p", "progress", "Progress"),
        Binding("e", "export", "Export"),
        Binding("n", "another", "Again"),
        Binding("l,f6", "app.light", "Light", key_display="l", show=False),
        Binding("f1,question_mark", "help", "Help", key_display="F1"),
        Binding("enter,q,escape", "app.leave", "Leave", key_display="Enter", priority=True),
    ]
    AUTO_FOCUS = "#calls-list"

    def __init__(self, live: LiveSession, ended: SessionEnded, *, another: bool = False) -> None:
        """`another`: there is a start screen to go back to."""
        super().__init__()
        self._another = another
        self._live = live
        self._ended = ended
        self._found = debriefing(live.calls)

    def compose(self) -> ComposeResult:
        ended, plan = self._ended, self._live.plan
        yield Static(f"Debrief | {plan.title} | {plan.callsign}", id="title", markup=False)
        yield Static(
            f"Score {ended.score:.0f} of 100   {ended.accepted} of {ended.calls} calls accepted"
            f"   {ended.reason}, {minutes(ended.at)}",
            id="result",
            markup=False,
        )
        yield Static(self._in_short(), id="short")
        with Horizontal(id="debrief"):
            rows = (call_row(number, call, TITLE_WIDTH) for number, call in enumerate(self._live.calls, 1))
            yield OptionList(*map(Option, rows), id="calls-list")
            with VerticalScroll(id="account", can_focus=False):
                yield Line("No call was made and none was missed.", id="account-text", markup=False)
        yield Footer()

    def on_mount(self) -> None:
        if self._live.calls:
            self.query_one(OptionList).highlighted = self._found.worst or 0

    def _in_short(self) -> Content:
        found, calls = self._found, self._live.calls
        lines = []
        if found.best is not None and found.worst is not None:
            for name, number in (("Best", found.best), ("Worst", found.worst)):
                words = f"{number + 1} {title_of(calls[number])}, {score_of(calls[number])}"
                lines.append(Content.styled(f"{name:10}", FAINT) + Content(words))
        practise = "; ".join(found.practise) or ("nothing: fly a harder one" if calls else "the check-in")
        lines.append(Content.styled(f"{'Practise':10}", FAINT) + Content.styled(practise, "bold"))
        return Content("\n").join(lines)

    @property
    def _chosen(self) -> int | None:
        return self.query_one(OptionList).highlighted

    @on(OptionList.OptionHighlighted)
    def _highlighted(self, event: OptionList.OptionHighlighted) -> None:
        number = event.option_index
        call = self._live.calls[number]
        account = call_account(call, self._live.model_of.get(number, ""))
        self.query_one("#account-text", Line).draw(account, layout=True)
        self.query_one("#account").scroll_home(animate=False)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What can be listened to, of one's own voice what was recorded; and whether there is a way back."""
        if action == "mine":
            return self._chosen in self._live.voice_of
        if action == "another":
            return self._another
        return bool(self._live.calls) if action == "model" else True

    def action_mine(self) -> None:
        if self._chosen is not None:
            self.post_message(self.SoundWanted(self._chosen, model=False))

    def action_model(self) -> None:
        if self._chosen is not None:
            self.post_message(self.SoundWanted(self._chosen, model=True))

    def action_silence(self) -> None:
        self.post_message(self.SilenceWanted())

    def action_progress(self) -> None:
        self.post_message(self.ProgressWanted())

    def action_another(self) -> None:
        self.post_message(self.AnotherWanted())

    def action_export(self) -> None:
        self.post_message(self.ExportWanted())

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(DEBRIEF))


def call_account(call: Call, model_call: str = "") -> Content:
    """Everything about one call. `model_call`: of one that was missed."""
    head = Content.styled(title_of(call), "bold") + Content.styled(f"  {minutes(call.at)}", FAINT)
    if isinstance(call, CallMissed):
        lines = [head, Content(""), Content.styled(f"- missed: {call.consequence}", "$error")]
        if model_call:
            lines.append(Content.styled(f"= {model_call}", "$secondary"))
        return Content("\n").join(lines)
    judged = call.assessment
    lines = [head, Content(""), Content(call.heard.text or "(nothing)"), Content(""), *mark_rows(judged)]
    for fault in judged.faults:
        if fault.verdict is not Verdict.UNSURE:
            why = Content.styled(f"{fault.element}: ", "bold") + Content(fault.rule.text)
            lines += [Content(""), why, Content.styled(f"Source: {fault.rule.source}", FAINT)]
    if judged.faults:
        lines += [Content(""), Content.styled(f"= {judged.model_call or '(silence)'}", "$secondary")]
    return Content("\n").join(lines)
