"""Replies that a drill forces on the tower, by occurrence of the trainee's call."""

from collections import Counter
from collections.abc import Sequence

from drills.drill import TowerStep
from phraseology.elements import Kind
from phraseology.replies import message
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.words import nearest_point

_SAID_AS = {"report_initial": "report"}
"""Names of the drill table that are another reply's name in the language."""


class Script:
    """Counts the trainee's calls and gives the forced reply to one, or None for the tower's own decision."""

    def __init__(self, steps: Sequence[TowerStep] = ()) -> None:
        self._steps = tuple(steps)
        self._count: Counter[str] = Counter()

    def forced(self, asked: Asked, picture: Picture) -> Decision | None:
        self._count[asked.call] += 1
        occurrence = self._count[asked.call]
        steps = [step for step in self._steps if step.on == asked.call]
        exact = [step for step in steps if step.occurrence == occurrence]
        for step in exact or [step for step in steps if step.occurrence == "any"]:
            return _decision(step, asked, picture, occurrence)
        return None


def _decision(step: TowerStep, asked: Asked, picture: Picture, occurrence: int) -> Decision:
    flight = picture.flights[asked.callsign]
    initial = f"initial {picture.field.report_initial_nm:g}"
    goes_to_initial = step.reply in ("overhead_approved", "report_initial", "closed_denied_outside")
    reports = {"straight_through": "outside_downwind", "report_break": "break"}
    fields = {
        Kind.RUNWAY: picture.runway,
        Kind.WIND: picture.wind,
        **picture.pressure,
        Kind.CLEARANCE: asked.intention or "full_stop",
        Kind.BREAK: step.where or "approved",
        Kind.ALTITUDE: str(step.altitude_ft or picture.field.breakout_altitude_ft),
        Kind.REPORT: initial
        if goes_to_initial
        else reports.get(step.reply, step.point or nearest_point(flight, picture)),
    }
    if step.reply == "overhead_approved":
        del fields[Kind.ALTITUDE]
    reasons = [f"the drill says so for {asked.call.replace('_', ' ')} number {occurrence}"]
    if step.note:
        reasons.append(step.note)
    return Decision(message(_SAID_AS.get(step.reply, step.reply), asked.callsign, fields), tuple(reasons))
