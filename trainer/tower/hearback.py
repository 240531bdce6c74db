"""What the controller asks back when a call or a read-back cannot be used as it was heard."""

from phraseology.assess import Assessment, Judged, Verdict
from phraseology.elements import Kind, Severity

QUESTION_OF = {
    Kind.CALLSIGN.value: "say_callsign",
    Kind.GEAR.value: "check_wheels_down",
    Kind.POSITION.value: "say_position",
    Kind.DISTANCE.value: "say_position",
    Kind.WHERE.value: "say_position",
    Kind.POINT.value: "say_position",
    Kind.ALTITUDE.value: "say_altitude",
    Kind.NATURE.value: "say_nature",
}
_USABLE_WHEN_WRONG = frozenset(
    {Kind.INTENTION.value, Kind.ATIS.value, Kind.STATION.value, Kind.ALTITUDE.value}
)
"""Another intention than the briefed one, or a wrong letter, is a fault, but no reason to ask:
the tower acts on what was said."""


def question_after(assessment: Assessment) -> str | None:
    """The question that a controller asks after this call, as a reply's name; None if he can act on it.

    Doubt comes first: nobody is asked for his callsign because the radio was bad.
    """
    if assessment.unsure:
        return "say_again"
    serious = [judged for judged in assessment.elements if _stops(judged)]
    if not serious:
        return None
    if len(serious) > 2:
        return "say_again"
    for element, question in QUESTION_OF.items():
        if any(judged.element == element for judged in serious):
            return question
    if any(judged.element == Kind.INTENTION.value for judged in serious):
        return "say_intentions"
    return "say_again"


def _stops(judged: Judged) -> bool:
    if judged.severity not in (Severity.CRITICAL, Severity.MAJOR):
        return False
    return not (judged.verdict is Verdict.WRONG and judged.element in _USABLE_WHEN_WRONG)
