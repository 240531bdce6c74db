"""Synthetic students: each flies a drill by the book but for one weakness that is built in. No sound."""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from drills.check import load_drill, load_field
from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.heard import Heard, HeardBy
from phraseology.render import say
from trainer.commands.simulate import speech_seconds
from trainer.logbook.store import Logbook
from trainer.session.events import Event
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

STEP_S = 0.5
AGAIN_S = 60.0
"""Who is prompted for the same call again so soon says it right: nobody repeats himself for ever."""


@dataclass(frozen=True)
class Pupil:
    """`number` and `name` as on the roster; `weakness` is the element that suffers, or "time to answer"."""

    number: str
    name: str
    weakness: str
    spoil: Callable[[Expected], str]
    waits_s: tuple[float, float] = (1.0, 2.5)


def _value(prompt: Expected, kind: Kind) -> str | None:
    return next((slot.say for slot in prompt.slots if slot.kind is kind and slot.say), None)


def without(kind: Kind) -> Callable[[Expected], str]:
    """The model call with this element left out."""

    def spoil(prompt: Expected) -> str:
        value = _value(prompt, kind)
        if value is None:
            return prompt.model_call
        words = say(kind, value, prompt.context.standard)
        return ", ".join(
            part for part in prompt.model_call.replace(words, "").split(", ") if part.strip(", ")
        )

    return spoil


def swapped_figures(prompt: Expected) -> str:
    """The callsign with its last two figures the wrong way round."""
    word, figures = prompt.context.callsign.split()
    standard = prompt.context.standard
    wrong = f"{word} {figures[::-1]}"
    return prompt.model_call.replace(
        say(Kind.CALLSIGN, prompt.context.callsign, standard), say(Kind.CALLSIGN, wrong, standard)
    )


def other_intention(prompt: Expected) -> str:
    """Another landing than the one that was told to be flown."""
    value = _value(prompt, Kind.INTENTION)
    if value is None:
        return prompt.model_call
    other = "low_approach" if value == "touch_and_go" else "touch_and_go"
    standard = prompt.context.standard
    return prompt.model_call.replace(
        say(Kind.INTENTION, value, standard), say(Kind.INTENTION, other, standard)
    )


def by_the_book(prompt: Expected) -> str:
    return prompt.model_call


PUPILS = (
    Pupil("1", "Alder", "callsign", swapped_figures),
    Pupil("2", "Birch", "gear", without(Kind.GEAR)),
    Pupil("3", "Cedar", "intention", without(Kind.INTENTION)),
    Pupil("4", "Dogwood", "runway", without(Kind.RUNWAY)),
    Pupil("5", "Elder", "time to answer", by_the_book, (7.0, 9.0)),
)


def fly(logbook: Logbook, drill: str, pupil: Pupil, seed: int, started: str) -> int:
    """The drill from check-in to full stop, or to its time limit, into the logbook; its number there."""
    briefed = load_drill(drill)
    plan = SessionPlan.of_drill(briefed, load_field(briefed.field))
    meta = {
        "title": plan.title, "field": plan.field.field, "runway": plan.runway, "callsign": plan.callsign,
        "aircraft": plan.profile.name, "pace": "real", "seed": seed,
    }  # fmt: skip
    number = logbook.start_session(meta, started)
    with logbook.together():
        last: Event | None = None
        for event in _events(Session(plan, speech_seconds), plan.callsign, pupil, random.Random(seed)):
            logbook.write(number, event.as_json())
            last = event
        assert last is not None
        logbook.finish(number, last.as_json(), None)
    return number


def _events(session: Session, callsign: str, pupil: Pupil, rng: random.Random) -> Iterator[Event]:
    spoiled: dict[str, float] = {}
    while session.ended is None:
        yield from session.advance(session.now + STEP_S)
        prompt = session.prompt
        if prompt is None or session.on_air or session.ended is not None:
            continue
        yield from session.advance(session.now + rng.uniform(*pupil.waits_s))
        prompt = session.prompt
        if prompt is None or session.on_air or session.ended is not None:
            continue
        words = prompt.model_call
        if session.now - spoiled.get(prompt.name, -AGAIN_S) >= AGAIN_S:
            words = pupil.spoil(prompt)
            spoiled[prompt.name] = session.now
        session.trainee_keys()
        yield from session.advance(session.now + speech_seconds(callsign, words))
        if session.ended is None:
            yield from session.trainee_said(Heard(Heard.typed(words).words, HeardBy.SITUATION))


def fly_all(folder: Path, place: int, drills: tuple[str, ...]) -> None:
    """These drills, one a day, by the pupil of this place, on his own machine: its data folder."""
    pupil = PUPILS[place]
    with Logbook.open(folder) as logbook:
        for day, drill in enumerate(drills, 1):
            fly(logbook, drill, pupil, seed=day, started=f"2026-11-{20 + day}T10:00:00+00:00")
