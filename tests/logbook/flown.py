"""Sessions for the logbook as a trainee flies them by typing, some calls wrong on purpose."""

from typing import Any

from drills.check import load_drill, load_field
from phraseology.heard import Heard
from trainer.commands.simulate import speech_seconds
from trainer.drawing.charting import chart_of, track_point
from trainer.live.book import TRACK_EVERY_S
from trainer.logbook.store import Logbook
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

STARTED = "2026-01-31T18:00:00+00:00"


def fly_into(logbook: Logbook, wrong: tuple[str, ...] = (), started: str = STARTED, **meta: Any) -> int:
    """One session of the first drill; in the calls named, the figures of the callsign are swapped."""
    drill = load_drill("first_flight")
    plan = SessionPlan.of_drill(drill, load_field(drill.field))
    session = Session(plan, speech_seconds)
    about = {
        "title": plan.title, "field": plan.field.field, "runway": plan.runway, "callsign": plan.callsign,
        "pace": "real", "chart": chart_of(plan.pattern), **meta,
    }  # fmt: skip
    number = logbook.start_session(about, started)

    def keep(events: list[Any]) -> None:
        for event in events:
            logbook.write(number, event.as_json())

    track_due = 0.0
    while session.ended is None:
        keep(session.advance(session.now + 0.5))
        if session.now >= track_due:
            track_due = session.now + TRACK_EVERY_S
            logbook.flown(number, track_point(session.trainee.flight, session.now))
        prompt = session.prompt
        if prompt is not None and not session.on_air and session.ended is None:
            words = prompt.model_call
            if prompt.name in wrong:
                words = words.replace("two one", "one two")
            session.trainee_keys()
            keep(session.advance(session.now + speech_seconds(plan.callsign, words)))
            keep(session.trainee_said(Heard.typed(words)))
    logbook.finish(number, session.ended.as_json(), None)
    return number
