"""The small panels of the flight screen. Each shows values and asks nothing."""

from typing import ClassVar, get_args

from textual.content import Content

from drills.values import Hints
from trainer.debrief.account import shown
from trainer.live.session import LiveSession
from trainer.live.view import FlightView
from trainer.screens.line import Line
from trainer.screens.marks import call_row, minutes
from trainer.screens.themes import FAINT
from trainer.session.events import CallMissed, TowerSpoke, TraineeSpoke
from trainer.session.plan import SessionPlan


class TitleLine(Line):
    """Where, who, and the clock."""

    def __init__(self, live: LiveSession) -> None:
        super().__init__(id="title")
        plan = live.plan
        self._left = f"{plan.field.field} {plan.runway} | {plan.callsign}, {plan.profile.name}"
        self._pace = live.pace

    def show(self, view: FlightView) -> None:
        right = f"{self._pace} pace{_rate(view.speed)} {minutes(view.clock_s)}"
        width = self.content_size.width
        left = self._left[: max(0, width - len(right) - 1)]  # the clock is never cut off
        gap = " " * max(1, width - len(left) - len(right))
        self.draw(Content.styled(left, "bold") + Content(gap + right))


def _rate(speed: float) -> str:
    if speed == 0.0:
        return ", clock stands"
    return "" if speed == 1.0 else f" x{speed:g}"


class NextLine(Line):
    """The next call with the seconds to it, and the end of the leg."""

    def __init__(self) -> None:
        super().__init__(id="next")

    def show(self, view: FlightView) -> None:
        call = view.call
        if call is None:
            line = Content.styled("No call on this leg", FAINT)
        elif call.due_in_s > 0:
            line = Content.styled(f"Next  {call.title}", "bold") + Content(f" in {call.due_in_s:.0f} s")
        else:
            line = Content.styled(f" NOW  {call.title} ", "bold reverse")
            if call.closes_in_s is not None and call.closes_in_s > 0:
                line += Content(f"  within {call.closes_in_s:.0f} s")
        if view.next_leg_in_s is not None:
            leg = f"   {shown(view.leg.value)} ends in {minutes(view.next_leg_in_s)}"
            line += Content.styled(leg, FAINT)
        self.draw(line)


class TowerPanel(Line):
    """The tower's last message, large."""

    def __init__(self, plan: SessionPlan) -> None:
        self._tower, self._trainee = plan.field.tower, plan.callsign
        super().__init__(f"Nothing yet. Check in with {self._tower}.", id="tower", markup=False)
        self.border_title = self._tower
        self.border_subtitle = plan.title

    def show(self, event: TowerSpoke) -> None:
        self.border_title = f"{self._tower} to {event.to or 'the station calling'}"
        self.set_class(event.to == self._trainee, "-mine")
        self.draw(event.words)


class HintLine(Line):
    """The next call: its model words, only what is in it, or nothing."""

    LEVELS: ClassVar = get_args(Hints)
    """A flight begins with its drill's."""

    def __init__(self) -> None:
        super().__init__(id="hint", markup=False)

    def show(self, view: FlightView, level: Hints) -> None:
        if level == "words":
            words = f"Say: {view.hint or 'nothing now'}"
        elif level == "cue":
            words = f"Say your {view.cue}" if view.cue else "Nothing to say now"
        else:
            words = "F2 shows the words of the next call, again only what is in it"
        self.draw(words, layout=True)


class EarsLine(Line):
    """The microphone in words, how loud it is, what it has understood so far, and the score."""

    def __init__(self) -> None:
        super().__init__(id="ears")

    def show(self, view: FlightView) -> None:
        score = "no calls yet"
        if view.calls:
            score = f"score {view.score:.0f}, {view.accepted} of {view.calls} accepted"
        level = "" if view.mic is None else f"{loudness(view.mic)} "
        room = max(1, self.content_size.width - len(score) - len(level) - 5)
        words = view.ears.words
        if view.partial:
            words += f": {_end_of(view.partial, room - len(words) - 2)}"
        words = words if len(words) <= room else f"{words[: room - 3]}..."
        self.set_class(view.ears.words.startswith("hearing you"), "-hearing")
        self.set_class(view.ears.sign == "#" or "blocked" in view.ears.words, "-blocked")
        self.draw(Content(f"({view.ears.sign}) {level}{words:{room}} ") + Content.styled(score, "bold"))


def loudness(share: float) -> str:
    """A meter of eight cells."""
    full = round(8 * share)
    return "━" * full + "·" * (8 - full)


def _end_of(words: str, room: int) -> str:
    """The last of the words: those that are being said now."""
    return words if len(words) <= room else f"...{words[len(words) - max(0, room - 3) :]}"


class CallsPanel(Line):
    """The trainee's calls so far, each with its score; only where the terminal is wide."""

    def __init__(self) -> None:
        super().__init__(id="calls")

    def show(self, calls: list[TraineeSpoke | CallMissed]) -> None:
        width = max(12, self.content_size.width - 9)
        lines = [call_row(number, call, width) for number, call in enumerate(calls, 1)]
        self.draw(Content("\n").join(lines[-max(1, self.content_size.height) :]) if lines else "None yet.")
