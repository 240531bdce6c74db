"""A drill made in memory of what was chosen, flown by the same session as any other, about ten minutes long.

How long it takes is found by flying it once by the book: a synthetic trainee types every model call.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from drills.drill import Drill, Pace
from drills.field import Field
from drills.replies import TAKES
from phraseology.heard import Heard
from trainer.commands.simulate import speech_seconds
from trainer.live.pace import speed
from trainer.practice.choosing import Chosen, fitting
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

MINUTES = 10.0
"""What a session may last on the clock of the wall, at the quick pace."""
MOST_CHOSEN = 6
MOST_FLOWN = 4
"""So often a drill is flown by the book to fit it into the time."""
_PACE: Pace = "quick"
_STEP_S = 0.5


@dataclass(frozen=True)
class Flown:
    """A drill flown by the book: seconds on the wall, the forced replies that came up, how it ended."""

    wall_s: float
    came_up: frozenset[tuple[str, str]]
    reason: str


@dataclass(frozen=True)
class Practice:
    """The drill, what of the choice is in it, and how many minutes it takes by the book."""

    drill: Drill
    chosen: tuple[Chosen, ...]
    minutes: float


def build(chosen: Sequence[Chosen], field: Field, field_name: str, callsign: str) -> Practice:
    """As much of the choice, the most needful first, as fits into `MINUTES`, one situation at least."""
    kept = fitting(chosen, MOST_CHOSEN)
    drill = practice_drill(kept, field, field_name, callsign)
    flown = flown_by_the_book(drill, field)
    for _ in range(MOST_FLOWN - 1):
        forced = [each for each in kept if each.reply]
        too_long = flown.wall_s > 60.0 * MINUTES and len(forced) > 1
        idle = [each for each in forced if (each.call, each.reply) not in flown.came_up]
        if not too_long and not idle:
            break
        out = idle or [min(forced, key=lambda each: each.need)]
        kept = [each for each in kept if each not in out]
        drill = practice_drill(kept, field, field_name, callsign)
        flown = flown_by_the_book(drill, field)
    came = [each for each in kept if not each.reply or (each.call, each.reply) in flown.came_up]
    minutes = flown.wall_s / 60.0
    drill = drill.model_copy(update={"expected_minutes": max(1.0, float(round(minutes)))})
    return Practice(drill, tuple(came), minutes)


def practice_drill(chosen: Sequence[Chosen], field: Field, field_name: str, callsign: str) -> Drill:
    """The drill in which these replies come up, each at the next occurrence of its call."""
    replies: dict[str, list[Chosen]] = defaultdict(list)
    for each in chosen:
        if each.reply:
            replies[each.call].append(each)
    steps = [
        _step(each, occurrence, field)
        for of_call in replies.values()
        for occurrence, each in enumerate(of_call, 1)
    ]
    again = any(each.call == "request_closed" for each in chosen)
    approaches = max(len(replies["gear_report"]), len(replies["request_closed"]) + 1, len(replies["initial"]))
    circuits = ("touch_and_go",) * max(approaches - 1, int(again)) + ("full_stop",)
    return Drill.model_validate(
        {
            "drill": "Practice of what is due",
            "goal": "; ".join(each.title for each in chosen) or "The calls of one circuit.",
            "expected_minutes": MINUTES,
            "field": field_name,
            "runway": field.runways[-1].end,
            "callsign": callsign,
            "aircraft": "turboprop_trainer",
            "entry_point": sorted(field.points)[0],
            "pace": _PACE,
            "time_limit_minutes": 60.0,
            "circuits": circuits,
            "tower": tuple(steps),
        }
    )


def _step(each: Chosen, occurrence: int, field: Field) -> dict[str, Any]:
    details: dict[str, Any] = {
        "point": sorted(field.points)[-1],
        "altitude_ft": field.breakout_altitude_ft,
        "where": "midfield",
        "seconds": 5,
        "side": field.runways[-1].break_side,
    }
    takes = {key: details[key] for key in sorted(TAKES.get(each.reply, frozenset()))}
    note = {"note": f"Chosen because of {each.reasons[0]}."} if each.reasons else {}
    return {"on": each.call, "occurrence": occurrence, "reply": each.reply, **takes, **note}


def flown_by_the_book(drill: Drill, field: Field) -> Flown:
    """Fly it with model calls; PatternError for a field that cannot be flown."""
    session = Session(SessionPlan.of_drill(drill, field), speech_seconds)
    wall_s = 0.0

    def go_on(seconds: float, *, spoken: bool = False) -> None:
        nonlocal wall_s
        awaited, on_air = session.prompt is not None, spoken or session.on_air
        wall_s += seconds / speed(_PACE, awaited=awaited, on_air=on_air, typing=False)
        session.advance(session.now + seconds)

    while session.ended is None:
        go_on(_STEP_S)
        prompt = session.prompt
        if prompt is not None and not session.on_air and session.ended is None:
            session.trainee_keys()
            go_on(speech_seconds(drill.callsign, prompt.model_call), spoken=True)
            session.trainee_said(Heard.typed(prompt.model_call))
    came_up = frozenset((step.on, step.reply) for _, step in session.forced_replies)
    return Flown(wall_s, came_up, session.ended.reason)
