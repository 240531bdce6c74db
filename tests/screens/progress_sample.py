"""Figures of eighteen made-up sessions for the progress screen: they rise, and dip once."""

from trainer.logbook.progress import CallProgress, ElementProgress, Progress, SessionFigures

_SCORES = (52, 58, 55, 63, 70, 68, 74, 61, 66, 73, 78, 80, 79, 85, 88, 84, 91, 93)
_DAYS = [f"2025-01-{day:02d}T18:00:00+00:00" for day in range(10, 28)]
_CALLS = (
    ("request_closed", "", 41, 4, 2),
    ("gear_report", "", 58, 0, 3),
    ("", "break_approved", 71, 1, 0),
    ("initial", "", 84, 0, 0),
    ("check_in", "", 92, 0, 0),
)
_ELEMENTS = (
    ("gear_report", "", "intention", 40, 22),
    ("request_closed", "", "runway", 28, 19),
    ("", "break_approved", "sequence", 44, 35),
    ("initial", "", "distance", 36, 33),
    ("check_in", "", "atis", 18, 18),
)
DUE = ("Gear report", "Request for closed, then: Closed approved")


def _sessions(scores: tuple[float, ...]) -> tuple[SessionFigures, ...]:
    return tuple(
        SessionFigures(number, _DAYS[number - 1], 12, round(score / 10), float(score))
        for number, score in enumerate(scores, 1)
    )


SAMPLE = Progress(
    sessions=_sessions(_SCORES),
    calls=216,
    accepted=151,
    missed=5,
    score=73.2,
    streak=17,
    longest_streak=31,
    answer_s=1.4,
    trend=6.0,
    by_call=tuple(
        CallProgress(
            call=call,
            reply=reply,
            calls=40,
            accepted=24,
            missed=missed,
            critical=critical,
            score=float(score),
            answer_s=1.4,
            trend=None if call == "check_in" else 4.0 - index,
            sessions=_sessions(tuple(max(0, min(100, each + score - 80)) for each in _SCORES)),
        )
        for index, (call, reply, score, missed, critical) in enumerate(_CALLS)
    ),
    by_element=tuple(
        ElementProgress(
            call=call,
            reply=reply,
            element=element,
            tries=tries,
            right=right,
            minor=0,
            critical=1,
            unsure=0,
            last_wrong="",
            sessions=tuple(min(1.0, score * right / tries / 80.0) for score in _SCORES),
        )
        for call, reply, element, tries, right in _ELEMENTS
    ),
)
