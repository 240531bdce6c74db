"""Many seeded sessions of traffic alone: separation, what occurs of legs, transitions and replies, and speed.

    python tests/benchmarks/many_sessions.py --sessions 10000 --minutes 10 --processes 2 --budget 600

Demand 4 to 14 an hour, both fields and all their runways, winds from calm to 25 kt, every class. The budget
is wall seconds: what is not done by then is left, and the account says how many were flown.
"""

import argparse
import random
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from vocabulary import Coverage, scripts, table

from drills.check import load_field
from trainer.commands.simulate import simulate
from trainer.pattern.leg import Leg
from trainer.session.events import Arrived, LegEntered, TowerSpoke
from trainer.session.pilots import Habits
from trainer.session.plan import SessionPlan
from trainer.traffic.demand import demand

PLACES = [("corbel", end) for end in ("13", "31")] + [
    ("wickstone", end) for end in ("08L", "08R", "26L", "26R")
]
BATCH = 10
field_of = cache(load_field)
RESTLESS = Habits(wrong=0.08, silent=0.03, blocked=0.02, traps=0.02, wishes=0.25, otherwise=0.1)
RESTLESS_EVERY = 3
"""Every third session has pilots who slip, ask and change their minds more than people do: rare things occur."""


def plan(seed: int, minutes: float) -> SessionPlan:
    rng = random.Random(seed)
    name, end = rng.choice(PLACES)
    place = field_of(name)
    heading = place.runway(end).heading_deg
    # A runway is used into the wind: up to 90 degrees off it.
    wind = f"{int(heading + rng.uniform(-90, 90)) % 360:03d}/{rng.randrange(5, 26)}"
    flown = SessionPlan.of_demand(
        place, end, rng.uniform(4.0, 14.0), minutes / 60.0, seed, rng.choice(("calm", wind, wind))
    )
    return replace(flown, habits=RESTLESS) if seed % RESTLESS_EVERY == 0 else flown


@dataclass
class Found:
    """Sums over sessions; made to be added up."""

    sessions: int = 0
    simulated_s: float = 0.0
    failures: list[str] = field(default_factory=list)
    aircraft: int = 0
    landings: int = 0
    violations: list[str] = field(default_factory=list)
    astray: int = 0
    pairs_seen: int = 0
    coverage: Coverage = field(default_factory=Coverage)
    nearest_nm: float = float("inf")

    def add(self, other: "Found") -> None:
        for name in ("sessions", "simulated_s", "aircraft", "landings", "astray", "pairs_seen"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.failures += other.failures
        self.violations += other.violations
        self.coverage.add(other.coverage)
        self.nearest_nm = min(self.nearest_nm, other.nearest_nm)


def fly(seed: int, flying: SessionPlan, found: Found) -> None:
    try:
        flown = simulate(flying)
    except Exception as error:  # a session that breaks is a finding, and the others go on
        found.failures.append(f"seed {seed}: {type(error).__name__}: {error}")
        return
    found.sessions += 1
    found.simulated_s += flown.plan.time_limit_s
    on: dict[str, str] = {}
    for event in flown.events:
        match event:
            case Arrived(aircraft=name, how=how):
                found.aircraft += 1
                on[name] = "inbound" if how == "straight_in" else how
                found.coverage.legs[on[name]] += 1
            case LegEntered(aircraft=name, leg=leg, trigger=trigger):
                found.coverage.legs[leg] += 1
                if name in on:
                    found.coverage.transitions[on[name], trigger, leg] += 1
                on[name] = leg
                found.landings += leg == Leg.RUNWAY
            case TowerSpoke(reply=reply):
                found.coverage.replies[reply] += 1
            case _:
                pass
    nearest = flown.separation.nearest()
    if nearest is not None:
        found.nearest_nm = min(found.nearest_nm, nearest.nm)
    for pair in flown.separation.nearer_than(flown.plan.field.minimum_separation_nm):
        if pair.obeying:
            legs = "/".join(leg.value for leg in pair.legs)
            found.violations.append(
                f"seed {seed}: {pair.nm:.2f} NM at {pair.at:.0f} s, {pair.one}, {pair.other}, {legs}"
            )
        else:
            found.astray += 1


def batch(first: int, minutes: float) -> Found:
    found = Found()
    for seed in range(first, first + BATCH):
        fly(seed, plan(seed, minutes), found)
    return found


def speed(aircraft: int) -> float:
    """Simulated seconds a CPU second with about so many aircraft at once: they come within five minutes."""
    place = load_field("corbel")
    roomy = place.model_copy(update={"limit": 12, "points": {**place.points, **_more_points(place.points)}})
    plan_ = SessionPlan.of_demand(roomy, "31", 60.0, 0.5, 1)
    names = demand(60.0, 2.0, 1, tuple(sorted(roomy.points)))[:aircraft]
    long = ("touch_and_go",) * 20 + ("full_stop",)
    come = tuple(
        replace(each, at=10.0 * index, arrives="inbound", circuits=long) for index, each in enumerate(names)
    )
    started = time.process_time()
    flown = simulate(replace(plan_, visitors=come))
    seconds = time.process_time() - started
    print(f"  {aircraft:2d} aircraft asked, {flown.most:2d} at most at once: {1800.0 / seconds:6.0f}")
    return 1800.0 / seconds


def _more_points(points: Any) -> dict[str, Any]:
    """Entry points enough for a dozen: the field's own, further out."""
    more = {}
    for index, (name, point) in enumerate(sorted(points.items())):
        for ring in (1, 2, 3):
            key = f"{name}{'ABC'[ring - 1]}"
            more[key] = point.model_copy(update={"distance_nm": point.distance_nm + 4.0 * ring + index * 0.1})
    return more


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--sessions", type=int, default=1000)
    options.add_argument("--minutes", type=float, default=10.0, help="of one session")
    options.add_argument("--processes", type=int, default=2)
    options.add_argument("--budget", type=float, default=180.0, help="wall seconds")
    options.add_argument("--first", type=int, default=0, help="the first seed")
    options.add_argument("--scripts", action="store_true", help="then script what has not occurred")
    options.add_argument(
        "--table", action="store_true", help="every leg, transition and reply with its count"
    )
    chosen = options.parse_args()
    started = time.perf_counter()
    total = Found()
    firsts = iter(range(chosen.first, chosen.first + chosen.sessions, BATCH))
    with ProcessPoolExecutor(chosen.processes) as pool:
        running = [
            pool.submit(batch, first, chosen.minutes)
            for _, first in zip(range(2 * chosen.processes), firsts, strict=False)
        ]
        while running:
            total.add(running.pop(0).result())
            if time.perf_counter() - started < chosen.budget:
                running += [
                    pool.submit(batch, first, chosen.minutes)
                    for first in [next(firsts, None)]
                    if first is not None
                ]
    wall_s = time.perf_counter() - started
    account(total, chosen.minutes, wall_s, chosen.processes, scripts_too=chosen.scripts, whole=chosen.table)
    print("simulated seconds a CPU second; the time that one takes against that with 2 aircraft, n squared")
    with_two = speed(2)
    for aircraft in (6, 12):
        print(f"     {with_two / speed(aircraft):.1f} times as long as with 2; {(aircraft / 2) ** 2:.0f}")


def account(
    total: Found, minutes: float, wall_s: float, processes: int, *, scripts_too: bool, whole: bool
) -> None:
    print(f"{total.sessions} sessions of {minutes:g} min in {wall_s:.0f} s on {processes} processes")
    print(
        f"{total.simulated_s / wall_s:.0f} simulated seconds a wall second, {total.sessions / wall_s:.1f} sessions a second"
    )
    print(
        f"{total.aircraft} aircraft, {total.landings} landings or touch-and-goes, closest obeying {total.nearest_nm:.2f} NM"
    )
    print(
        f"failures {len(total.failures)}; pairs below the minimum: {len(total.violations)} obeying, {total.astray} astray"
    )
    for line in [*total.failures[:10], *total.violations[:40]]:
        print(f"  {line}")
    scripted = Found()
    if scripts_too:
        for seed, script in enumerate(scripts(total.coverage)):
            fly(seed, script, scripted)
        print(f"{scripted.sessions} scripted sessions, {len(scripted.failures)} failures")
    lines = table(total.coverage, scripted.coverage)
    print("\n".join(lines if whole else lines[-2:]))


if __name__ == "__main__":
    main()
