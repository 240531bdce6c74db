"""`patternvoice simulate`: traffic and tower alone, without a trainee, as fast as the machine goes."""

import json
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drills.check import load_field
from trainer.drawing.tracks import Trace, draw_tracks
from trainer.errors import TrainerError
from trainer.pattern.leg import Leg
from trainer.session.airspace import Airspace
from trainer.session.events import Arrived, Blocked, Event, Left, LegEntered, TowerSpoke
from trainer.session.plan import SessionPlan
from trainer.traffic.separation import SeparationWatch

MOST_HOURS, MOST_DEMAND = 24.0, 60.0
LOOK_EVERY_S = 1.0
DRAW_EVERY_S = 4.0


def speech_seconds(station: str, words: str) -> float:
    """How long words take without a voice: 170 words a minute, and the key (our own choice)."""
    return 0.35 * len(words.split()) + 0.4


@dataclass
class Simulated:
    """What came of one run."""

    plan: SessionPlan
    events: list[Event]
    separation: SeparationWatch
    traces: dict[str, Trace]
    """Where each flew, if that is to be drawn."""
    most: int
    """The most aircraft at once."""

    def summary(self) -> dict[str, Any]:
        """Counts of replies with one reason each, separation, landings an hour; plain values."""
        hours = self.plan.time_limit_s / 3600.0
        replies: Counter[str] = Counter()
        reasons: dict[str, Counter[str]] = {}
        for event in self.events:
            if isinstance(event, TowerSpoke):
                replies[event.reply] += 1
                kind = _kind_of(event.reasons[0]) if event.reasons else "none"
                reasons.setdefault(event.reply, Counter())[kind] += 1
        runway = sum(isinstance(e, LegEntered) and e.leg == Leg.RUNWAY for e in self.events)
        nearest = self.separation.nearest()
        minimum = self.plan.field.minimum_separation_nm
        below = self.separation.nearer_than(minimum)
        return {
            "field": self.plan.field.field,
            "runway": self.plan.runway,
            "hours": hours,
            "seed": self.plan.seed,
            "wind": self.plan.wind,
            "aircraft": sum(isinstance(event, Arrived) for event in self.events),
            "most_at_once": self.most,
            "landings_per_hour": round(runway / hours, 1),
            "replies": dict(sorted(replies.items())),
            "reasons": {reply: dict(found.most_common()) for reply, found in sorted(reasons.items())},
            "left": dict(Counter(event.why for event in self.events if isinstance(event, Left))),
            "blocked": sum(isinstance(event, Blocked) for event in self.events),
            "minimum_separation_nm": minimum,
            "nearest_obeying_nm": round(nearest.nm, 2) if nearest else None,
            "below_minimum": [
                {
                    "nm": round(pair.nm, 2),
                    "at": pair.at,
                    "aircraft": [pair.one, pair.other],
                    "legs": [leg.value for leg in pair.legs],
                    "obeying": pair.obeying,
                }
                for pair in below
            ],
        }

    def log(self) -> str:
        """Every event as a line of JSON; the same seed gives the same bytes."""
        return "".join(json.dumps(event.as_json(), ensure_ascii=False) + "\n" for event in self.events)


def simulate(plan: SessionPlan, *, drawn: bool = False) -> Simulated:
    """Fly the plan's traffic to its time limit; with traces to draw, if asked for."""
    airspace = Airspace(plan, speech_seconds)
    found = Simulated(plan, [], SeparationWatch(), {}, 0)
    drawn_at = -DRAW_EVERY_S
    while not airspace.is_over:
        found.events += airspace.advance(airspace.now + LOOK_EVERY_S)
        flights = {name: each.flight for name, each in airspace.aircraft.items()}
        astray = {name for name, each in airspace.aircraft.items() if each.astray_until > airspace.now}
        found.separation.look(airspace.now, flights, astray)
        found.most = max(found.most, len(flights))
        if drawn and airspace.now - drawn_at >= DRAW_EVERY_S:
            drawn_at = airspace.now
            for name, flight in flights.items():
                here = flight.position(airspace.now)
                trace = found.traces.setdefault(name, Trace(name))
                trace.samples.append((airspace.now, here.x_nm, here.y_nm, flight.leg))
    return found


def run_simulation(
    field: str,
    runway: str | None,
    hours: float,
    demand: float,
    seed: int,
    wind: str,
    *,
    as_json: bool,
    svg: Path | None,
    log: Path | None,
) -> int:
    """Simulate, print the account, draw and keep the log where asked. Known errors for bad input."""
    if not 0.0 < hours <= MOST_HOURS:
        raise TrainerError(f"cannot simulate {hours:g} hours", f"give more than 0 and at most {MOST_HOURS:g}")
    if not 0.0 < demand <= MOST_DEMAND:
        raise TrainerError(
            f"no traffic of {demand:g} aircraft an hour", f"give more than 0 and at most {MOST_DEMAND:g}"
        )
    place = load_field(field)
    end = place.runway(runway or place.runways[-1].end).end
    plan = SessionPlan.of_demand(place, end, demand, hours, seed, wind)
    found = simulate(plan, drawn=svg is not None)
    title = (
        f"{place.field}, runway {end}, {demand:g} aircraft an hour for {hours:g} h, wind {wind}, seed {seed}"
    )
    if svg is not None:
        traces = list(found.traces.values())
        svg.write_text(draw_tracks(plan.pattern, traces, plan.time_limit_s, title), encoding="utf-8")
    if log is not None:
        log.write_text(found.log(), encoding="utf-8")
    summary = found.summary()
    print(json.dumps(summary, indent=2) if as_json else "\n".join(_lines(title, summary)))
    return 0


def _kind_of(reason: str) -> str:
    """The reason without the names and figures of the moment, so that like can be counted with like."""
    words = []
    for word in reason.split():
        if word.isupper() and len(word) > 2:
            words.append("X")
        elif not any(letter.isdigit() for letter in word):
            words.append(word)
        elif words and words[-1] != "X":
            words.append("n")
    return " ".join(words)


def _lines(title: str, summary: dict[str, Any]) -> list[str]:
    nearest = summary["nearest_obeying_nm"]
    lines = [
        title,
        f"aircraft           {summary['aircraft']}, at most {summary['most_at_once']} at once",
        f"landings an hour   {summary['landings_per_hour']}",
        f"closest            {'-' if nearest is None else nearest} NM of those that obeyed;"
        f" the field's minimum is {summary['minimum_separation_nm']:g}",
        f"below the minimum  {len(summary['below_minimum'])}",
    ]
    for pair in summary["below_minimum"]:
        who = " and ".join(
            f"{name} ({leg})" for name, leg in zip(pair["aircraft"], pair["legs"], strict=True)
        )
        why = "" if pair["obeying"] else ", a message missed or mistaken"
        lines.append(f"                   {pair['nm']} NM at {pair['at']:.0f} s: {who}{why}")
    lines.append(f"blocked            {summary['blocked']} transmissions")
    lines.append("replies")
    for reply, reasons in summary["reasons"].items():
        lines.append(f"{summary['replies'][reply]:5d}  {reply.replace('_', ' ')}")
        lines += [f"       {count:5d}  {reason}" for reason, count in reasons.items()]
    return lines
