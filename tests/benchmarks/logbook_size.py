"""How long list, progress, one debrief and a choice of practice take in a logbook of 1k, 10k and 50k calls.

    python tests/benchmarks/logbook_size.py [--calls 1000 10000 50000]

Stated ceiling: list and progress under 1 s each at 50,000 calls. The sessions are copies of one that was
flown here with every seventh call wrong, about twenty calls each, with the events of the others and a track.
Figures are the best of three, the opening of the logbook included.
"""

import argparse
import sqlite3
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from drills.check import load_drill, load_field
from phraseology.heard import Heard
from trainer.commands.simulate import speech_seconds
from trainer.debrief.debriefing import debrief
from trainer.debrief.page import debrief_page
from trainer.drawing.charting import chart_of, track_point
from trainer.logbook.keeping import Which, find
from trainer.logbook.progress import progress
from trainer.logbook.store import Logbook, TrackPoint
from trainer.practice.choosing import choose
from trainer.practice.memory import history, memories
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

CEILING_S = 1.0
SINCE = datetime(2024, 1, 1, 18, tzinfo=UTC)


def flown() -> tuple[dict[str, Any], list[dict[str, Any]], list[TrackPoint]]:
    """Meta, events and track of one session of a trainee who types; each seventh call is wrong."""
    drill = load_drill("first_flight")
    plan = SessionPlan.of_drill(drill, load_field(drill.field))
    session = Session(plan, speech_seconds)
    events: list[dict[str, Any]] = []
    track: list[TrackPoint] = []
    said = 0

    def go_on(seconds: float) -> None:
        events.extend(event.as_json() for event in session.advance(session.now + seconds))
        if not track or session.now - track[-1].at >= 3.0:
            track.append(track_point(session.trainee.flight, session.now))

    while session.ended is None:
        go_on(0.5)
        prompt = session.prompt
        if prompt is not None and not session.on_air and session.ended is None:
            said += 1
            words = prompt.model_call if said % 7 else prompt.model_call.replace("two one", "two two")
            session.trainee_keys()
            go_on(speech_seconds(plan.callsign, words))
            events.extend(event.as_json() for event in session.trainee_said(Heard.typed(words)))
    meta = {"title": plan.title, "callsign": plan.callsign, "pace": "real", "chart": chart_of(plan.pattern)}
    return meta, events, track


def fill(folder: Path, calls: int) -> int:
    """A logbook with at least so many calls; returns how many. One session is written, the rest are copies."""
    meta, events, track = flown()
    a_session = sum(event["event"] in ("TraineeSpoke", "CallMissed") for event in events)
    sessions = -(-calls // a_session)
    with Logbook.open(folder) as logbook:
        first = logbook.start_session(meta, SINCE.isoformat())
        for event in events:
            logbook.write(first, event)
        for point in track:
            logbook.flown(first, point)
        logbook.finish(first, events[-1], None)
        with closing(sqlite3.connect(logbook.path)) as direct, direct:
            for number in range(1, sessions):
                _copy(direct, first + number, number * len(events), SINCE + timedelta(hours=7 * number))
    return sessions * a_session


def _copy(direct: sqlite3.Connection, session: int, further: int, started: datetime) -> None:
    """The first session once more: event numbers go on, so each copied call is of its own event."""
    into = (
        ("sessions", "?1, ?2, meta, summary, recording", "id"),
        ("events", "id + ?3, ?1, at, event, body", "session"),
        (
            "calls",
            "id + ?3, ?1, at, call, reply, score, accepted, missed, critical, unsure, answer_s",
            "session",
        ),
        (
            "marks",
            "call_id + ?3, place, element, verdict, severity",
            "call_id IN (SELECT id FROM calls WHERE session = 1) AND 1",
        ),
        ("tallies", "item, ?1, tries, right, minor, critical, unsure, worst", "session"),
        ("track", "?1, at, east, north, feet, leg", "session"),
    )
    for table, columns, key in into:
        values = (session, started.isoformat(), further)
        query = f"INSERT INTO {table} SELECT {columns} FROM {table} WHERE {key} = 1 AND ?1 AND ?2 AND ?3"
        direct.execute(query, values)


def best_of_three(work: Callable[[], object]) -> float:
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def measure(folder: Path, calls: int) -> dict[str, float]:
    """Seconds for each thing that a person waits for."""
    now = SINCE + timedelta(days=3 * 365)

    def opened(work: Callable[[Logbook], object], *, checked: bool = False) -> Callable[[], object]:
        def run() -> object:
            with Logbook.open(folder, checked=checked) as logbook:
                return work(logbook)

        return run

    return {
        "list": best_of_three(opened(lambda logbook: find(logbook, Which()))),
        "list, one call": best_of_three(opened(lambda logbook: find(logbook, Which(call="gear_report")))),
        "progress": best_of_three(opened(progress)),
        "debrief page": best_of_three(opened(lambda logbook: debrief_page(debrief(logbook)))),
        "practice": best_of_three(opened(lambda logbook: choose(memories(history(logbook), now), now))),
        "open, checked": best_of_three(opened(lambda logbook: None, checked=True)),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calls", type=int, nargs="+", default=[1000, 10_000, 50_000])
    for calls in parser.parse_args().calls:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            begun = time.perf_counter()
            there = fill(folder, calls)
            filled = time.perf_counter() - begun
            size = sum(path.stat().st_size for path in folder.iterdir()) / 1e6
            found = measure(folder, there)
            figures = "  ".join(f"{name} {seconds:.3f}" for name, seconds in found.items())
            print(f"{there:>6} calls, {size:.0f} MB (filled in {filled:.0f} s): {figures}", flush=True)
            for name in ("list", "progress"):
                if found[name] > CEILING_S:
                    print(f"       {name} is over the ceiling of {CEILING_S:g} s")


if __name__ == "__main__":
    main()
