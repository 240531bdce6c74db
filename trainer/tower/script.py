"""Replies that a drill forces on the tower, by occurrence of the trainee's call."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drills.replies import SILENCE
from drills.steps import TowerStep
from phraseology.elements import Kind
from phraseology.replies import Message, message
from trainer.tower.conduct import Conduct
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.traps import wrong_runway
from trainer.tower.words import PLACE_OF, nearest_point, report_initial

_SAID_AS = {"report_initial": "report"}
"""Names of the drill table that are another reply's name in the language."""
_TO_INITIAL = frozenset({"overhead_approved", "report_initial", "closed_denied_outside"})
_REPORTS = {"straight_through": "outside_downwind", "report_break": "break"}
_WITHOUT: dict[str, tuple[Kind, ...]] = {
    "overhead_approved": (Kind.ALTITUDE,),
    "go_around": (Kind.ALTITUDE, Kind.REPORT),
}
"""What these could say besides, and a drill does not make them say."""


@dataclass(frozen=True)
class Forced:
    """A step that has come up. `decision` None: the tower says nothing. `trap` is what is said instead."""

    step: TowerStep
    decision: Decision | None
    trap: Message | None = None


class Script:
    """Counts the trainee's calls and gives the forced reply to one, or None for the tower's own decision."""

    def __init__(self, steps: Sequence[TowerStep] = (), conduct: Conduct | None = None) -> None:
        self._steps = tuple(steps)
        self._conduct = conduct or Conduct()
        self._count: Counter[str] = Counter()
        self.came_up: list[tuple[float, TowerStep]] = []
        """The steps that were taken, and when."""

    def forced(self, asked: Asked, picture: Picture) -> Forced | None:
        self._count[asked.call] += 1
        found = self._found(asked, picture, self._count[asked.call])
        if found is not None:
            self.came_up.append((picture.now, found.step))
        return found

    def foreseen(self, asked: Asked, picture: Picture) -> Decision | None:
        """What `forced` would give next, without counting the call."""
        found = self._found(asked, picture, self._count[asked.call] + 1)
        return found.decision if found else None

    def _found(self, asked: Asked, picture: Picture, occurrence: int) -> Forced | None:
        step = self._step(asked.call, occurrence)
        if step is None:
            return None
        if step.reply == SILENCE:
            return Forced(step, None)
        decision = _decision(step, asked, picture, occurrence)
        return Forced(step, decision, _trap(step, decision, picture)) if decision else None

    def _step(self, call: str, occurrence: int) -> TowerStep | None:
        """The branch that holds goes first, then the step for this occurrence, then that for any."""
        steps = [
            step
            for step in self._steps
            if step.on == call and step.occurrence in (occurrence, "any") and self._conduct.holds(step.when)
        ]
        steps.sort(key=lambda step: (step.when is None, step.occurrence == "any"))
        return steps[0] if steps else None


def _trap(step: TowerStep, decision: Decision, picture: Picture) -> Message | None:
    if step.trap == "wrong_callsign" and step.to is not None:
        return replace(decision.message, to=step.to)
    if step.trap == "wrong_runway":
        return wrong_runway(decision.message, picture.runway, [each.end for each in picture.field.runways])
    return None


def _decision(step: TowerStep, asked: Asked, picture: Picture, occurrence: int) -> Decision | None:
    """None where the reply cannot be said: whom it names is not there."""
    fields = _fields(step, asked, picture)
    reasons = [f"the drill says so for {asked.call.replace('_', ' ')} number {occurrence}"]
    if step.note:
        reasons.append(step.note)
    after = None
    if step.traffic is not None:
        lead = picture.flights.get(step.traffic)
        if lead is None or lead.leg not in PLACE_OF:
            return None
        fields |= {Kind.SEQUENCE: "2", Kind.FOLLOW: f"{_class(step.traffic, picture)} {PLACE_OF[lead.leg]}"}
    if step.behind == "departure_end":
        after, fields[Kind.CONDITION] = "", "at departure_end"
    elif step.behind is not None:
        if step.behind not in picture.flights:
            return None
        after, fields[Kind.CONDITION] = step.behind, "after traffic initial"
    said = message(_SAID_AS.get(step.reply, step.reply), asked.callsign, fields)
    return Decision(said, tuple(reasons), after=after, note=step.note or "")


def _class(callsign: str, picture: Picture) -> str:
    return picture.flights[callsign].profile.name.replace(" ", "_")


def _fields(step: TowerStep, asked: Asked, picture: Picture) -> dict[Kind, str]:
    """Everything that a reply may name; each takes what it has a place for."""
    flight = picture.flights[asked.callsign]
    point = step.point or nearest_point(flight, picture)
    if step.reply == "overhead_denied":
        report = f"final {picture.field.report_initial_nm:g}"
    elif step.reply in _TO_INITIAL:
        report = report_initial(picture)[Kind.REPORT]
    else:
        report = _REPORTS.get(step.reply, point)
    fields = {
        Kind.RUNWAY: picture.runway,
        Kind.WIND: picture.wind,
        **picture.pressure,
        Kind.ATIS: picture.atis,
        Kind.CLEARANCE: asked.intention or "full_stop",
        Kind.BREAK: f"in {step.seconds}" if step.seconds else step.where or "approved",
        Kind.ALTITUDE: str(step.altitude_ft or picture.field.breakout_altitude_ft),
        Kind.HOLD: point,
        Kind.UNAVAILABLE: flight.via or point,
        Kind.REPORT: report,
        **({Kind.SIDE: step.side} if step.side else {}),
    }
    return {kind: value for kind, value in fields.items() if kind not in _WITHOUT.get(step.reply, ())}
