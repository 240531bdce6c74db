"""What a screen shows of a session at one moment, as plain values."""

import math
from dataclasses import dataclass

from phraseology.calls import CALLS
from phraseology.elements import Severity
from phraseology.expected import Expected
from trainer.debrief.account import shown
from trainer.ears.level import QUIET_DBFS
from trainer.live.session import LiveSession
from trainer.pattern.leg import Leg
from trainer.session.events import TraineeSpoke
from trainer.session.frequency import TOWER


@dataclass(frozen=True)
class NextCall:
    """The call that comes next. `due_in_s` 0: now; `closes_in_s` None: no end, or not due yet."""

    title: str
    due_in_s: float
    closes_in_s: float | None = None


@dataclass(frozen=True)
class Ears:
    """The state of the microphone: a sign, and the words for it."""

    sign: str
    words: str


@dataclass(frozen=True)
class FlightView:
    """Times in seconds. `progress` is the flown part of the leg, 0 to 1; `speed` 0: the clock stands.

    `hint` is the next call in its model words, `cue` only names what is in it. `mic` is how loud the
    microphone is, 0 to 1; None without one.
    """

    clock_s: float
    speed: float
    leg: Leg
    progress: float
    point: str
    next_leg_in_s: float | None
    call: NextCall | None
    hint: str
    cue: str
    ears: Ears
    mic: float | None
    partial: str
    score: float
    calls: int
    accepted: int


def view_of(live: LiveSession) -> FlightView:
    """The session as it is now."""
    session = live.session
    flight = session.trainee.flight
    begins, ends = flight.leg_since, flight.path.ends_at
    ends_for_good = math.isfinite(ends) and flight.leg is not Leg.ENTRY_POINT
    prompt = session.prompt
    call, expected = _next_call(live, prompt)
    return FlightView(
        clock_s=session.now,
        speed=live.speed,
        leg=flight.leg,
        progress=min(1.0, max(0.0, (session.now - begins) / (ends - begins))) if ends > begins else 0.0,
        point=flight.via or "",
        next_leg_in_s=ends - session.now if ends_for_good else None,
        call=call,
        hint=expected.model_call if expected else "",
        cue=_cue(expected) if expected else "",
        ears=_ears(live),
        mic=_loudness(live),
        partial=live.partial,
        score=session.mean_score,
        calls=len(live.calls),
        accepted=sum(isinstance(call, TraineeSpoke) and call.assessment.accepted for call in live.calls),
    )


def _next_call(live: LiveSession, prompt: Expected | None) -> tuple[NextCall | None, Expected | None]:
    """The next call and what belongs in it."""
    session = live.session
    if prompt is not None and prompt.name not in CALLS:
        return NextCall("Answer the tower", 0.0), prompt
    due = {expected.name: expected for expected in session.expected_now() if expected.name in CALLS}
    for window in session.trainee.open_windows():
        if window.call in due:
            expected = due[window.call]
            left = window.closes_at_s - session.now
            in_s = max(0.0, window.due_at_s - session.now)
            return NextCall(expected.title, in_s, left if in_s == 0 else None), expected
    if prompt is not None:
        return NextCall(prompt.title, 0.0), prompt
    return None, None


def _cue(expected: Expected) -> str:
    """What must be said, by name, in order."""
    kinds = [slot.kind.value for slot in expected.slots if slot.missing is not Severity.NONE]
    return ", ".join(shown(kind) for kind in dict.fromkeys(kinds))


def _loudness(live: LiveSession) -> float | None:
    """From the recogniser's limit for a voice, less 10 dB, to full scale."""
    if live.hearing is None:
        return None
    return min(1.0, max(0.0, 1.0 - live.hearing.level_dbfs / (QUIET_DBFS - 10.0)))


def _ears(live: LiveSession) -> Ears:
    speaker = live.sounds.speaking
    if live.paused:
        return Ears("=", "paused")
    if live.keyed or live.key_down:
        over = f", blocked: {_name(live, speaker)} speaks" if speaker is not None else ""
        return Ears("*", f"hearing you{over}")
    if live.thinking:
        return Ears("~", "thinking")
    if live.waits_for_the_air:
        return Ears("~", "your call waits until the air is free")
    if speaker is not None:
        blocked = " and is blocked: somebody keyed with it" if live.blocked else ""
        return Ears("#" if live.blocked else ">", f"{_name(live, speaker)} speaks{blocked}")
    if live.no_microphone is not None:
        return Ears("-", f"no microphone: {live.no_microphone}")
    return Ears("-", "muted") if live.muted else Ears("o", "listening")


def _name(live: LiveSession, station: str) -> str:
    return live.plan.field.tower if station == TOWER else station
