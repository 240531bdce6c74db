"""Before the flight: what is flown, where, as what, how; one key and it begins."""

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Button, Footer, Input, Static

from trainer.live.choosing import Choosing
from trainer.screens.choice_row import LABEL, ChoiceRow
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.help_texts import START
from trainer.screens.line import Line

FIRST_TIME = """\
You come to fly a field's overhead pattern. When a call is due, say it.
Enter begins. Then hands off: speak, and the tower answers you.
Each call is marked at once; the debrief says why. Practice, not for flight.
While nothing is due, also: "pause", "resume", "say again", "end session"."""

MICROPHONE = f"{'Microphone':{LABEL + 3}}"


class StartScreen(Screen[None]):
    """Shows a `Choosing` and changes nothing but it; what is to happen is posted."""

    class Begun(Message):
        """Fly what is chosen."""

    class MicrophoneWanted(Message):
        """Measure the microphone."""

    class DrillsWanted(Message):
        """Show the drills."""

    class ProgressWanted(Message):
        """Show all sessions."""

    class FieldWanted(Message):
        """Show the field and its pattern."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "begin", "Fly", key_display="Enter"),
        Binding("up", "app.focus_previous", "Up", show=False),
        Binding("down", "app.focus_next", "Down", show=False),
        Binding("f2,d", "drills", "Drills", key_display="F2"),
        Binding("f3,f", "field", "Field", key_display="F3"),
        Binding("f4,m", "microphone", "Microphone", key_display="F4"),
        Binding("f5,p", "progress", "Progress", key_display="F5"),
        Binding("f6,l", "app.light", "Light", key_display="F6", show=False),
        Binding("f1,question_mark", "help", "Help", key_display="F1"),
        Binding("q,escape", "app.leave", "Quit", show=False),
    ]
    AUTO_FOCUS = "#choose-drill"

    def __init__(self, choosing: Choosing, *, first_time: bool) -> None:
        super().__init__()
        self._choosing = choosing
        self._first_time = first_time

    def compose(self) -> ComposeResult:
        yield Static("patternvoice | radio calls of the overhead pattern", id="title", markup=False)
        with Vertical(id="choices"):
            if self._first_time:
                yield Static(FIRST_TIME, id="first-time", markup=False)
            rows = self._choosing.rows()
            yield ChoiceRow(rows[0])
            with Horizontal(id="callsign-row"):
                yield Static(f"{'Callsign':{LABEL + 3}}", id="callsign-label")
                yield Input(self._choosing.choice.callsign, compact=True, id="callsign")
            for row in rows[1:]:
                yield ChoiceRow(row)
            yield Line(id="goal", markup=False)
            yield Line(MICROPHONE, id="microphone", markup=False)
        yield Line(id="problem", markup=False)
        with Horizontal(id="buttons"):
            yield Button("Fly", id="begin", variant="primary", compact=True)
            yield Button("Drills", id="drills", compact=True)
            yield Button("Field", id="field", compact=True)
            yield Button("Microphone", id="measure", compact=True)
            yield Button("Progress", id="progress", compact=True)
        yield Footer()

    def on_mount(self) -> None:
        self.show()

    def show(self) -> None:
        """Show what is chosen now."""
        for row in self._choosing.rows():
            self.query_one(f"#choose-{row.name}", ChoiceRow).show(row)
        drill, field = self._choosing.drill, self._choosing.field
        goal = "The tower decides by the traffic. Difficulty follows your calls."
        if drill is not None:
            goal = f"{drill.goal.strip()} About {drill.expected_minutes:g} minutes."
        elif field is not None:
            goal += f" Runway {field.runways[-1].end}."
        self.query_one("#goal", Line).draw(goal, layout=True)
        self._tell(self._choosing.problem)

    def measured(self, words: str) -> None:
        """Show what was found of the microphone."""
        self.query_one("#microphone", Line).draw(f"{MICROPHONE}{words}", layout=True)

    def _tell(self, problem: str | None) -> None:
        words = Content.styled(f"x {problem}", "$error") if problem else Content("")
        self.query_one("#problem", Line).draw(words, layout=True)

    def failed(self, sentence: str) -> None:
        """It could not begin."""
        self._tell(sentence)

    def wait(self, sentence: str) -> None:
        """It is about to begin."""
        self.query_one("#problem", Line).draw(sentence, layout=True)

    @on(ChoiceRow.Stepped)
    def _stepped(self, message: ChoiceRow.Stepped) -> None:
        self._choosing.step(message.name, message.by)
        self.show()

    @on(Input.Changed, "#callsign")
    def _callsign(self, event: Input.Changed) -> None:
        self._choosing.take("callsign", event.value)
        self._tell(self._choosing.problem)

    @on(Input.Submitted, "#callsign")
    @on(Button.Pressed, "#begin")
    def action_begin(self) -> None:
        if self._choosing.problem is None:
            self.post_message(self.Begun())

    @on(Button.Pressed, "#drills")
    def action_drills(self) -> None:
        self.post_message(self.DrillsWanted())

    @on(Button.Pressed, "#field")
    def action_field(self) -> None:
        if self._choosing.field is not None:
            self.post_message(self.FieldWanted())

    @on(Button.Pressed, "#progress")
    def action_progress(self) -> None:
        self.post_message(self.ProgressWanted())

    def action_help(self) -> None:
        self.app.push_screen(HelpOverlay(START))

    @on(Button.Pressed, "#measure")
    def action_microphone(self) -> None:
        self.post_message(self.MicrophoneWanted())
