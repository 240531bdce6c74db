"""Does the overhead let more land? Closed requests denied, and landings an hour, as demand rises, in two patterns.

    python -m tests.benchmarks.denial_study --seeds 4 --processes 2

The overhead with the closed pattern, and a conventional rectangular one (`rectangular.py` says how that is
flown), see the same visitors (same seeds, classes and times), the same field, separation, limit and tower. Writes `denial_study.md`
and `denial_study.svg` beside this file; with `--jets`, where jet trainers come in the turboprops' place,
`denial_study_jets` of both.

Assumptions: Corbel Field, runway 31, calm. Every go is a touch and go, the last landing a full stop. Pilots
and tower make no slips and no transmission is blocked, so that only the pattern differs. "Closed" in the rectangular pattern is the
next circuit, denied by the same rule: somebody would be between his report and the downwind meanwhile, would land too near, or come
too close. A request counts once, by the tower's last word on it before the next go. The first minutes, while
the pattern fills, are flown and not counted. Intervals are 90 per cent bootstrap intervals over seeds.
"""

import argparse
import random
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from statistics import mean

from drills.check import load_field
from tests.benchmarks.denial_plot import Line, plot
from tests.benchmarks.rectangular import RectangularSession
from trainer.commands.simulate import simulate
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.profiles import JET_TRAINER, PROFILES, TURBOPROP_TRAINER, Profile
from trainer.session.events import Event, Left, LegEntered, TowerSpoke
from trainer.session.pilots import BY_THE_BOOK
from trainer.session.plan import SessionPlan

PATTERNS: dict[str, type[SessionPlan]] = {
    "overhead and closed": SessionPlan,
    "rectangular": RectangularSession,
}
DEMANDS = (4.0, 8.0, 12.0, 16.0, 24.0, 40.0)
FILLS_S = 600.0
FLOWN_H = 40.0 / 60.0
RESAMPLES = 2000
HERE = Path(__file__).parent


@dataclass(frozen=True)
class Counted:
    """One session after the pattern has filled. `too_close` are pairs that obeyed and came below the minimum."""

    hours: float
    requests: int
    denied: int
    landings: int
    too_close: int
    turned_off: int
    """Aircraft that found no room within ten minutes and went elsewhere."""


def session(
    pattern: str, per_hour: float, seed: int, hours: float = FLOWN_H, *, jets: bool = False
) -> SessionPlan:
    """The demand of this seed for one pattern; with `jets`, jet trainers come instead of turboprops."""
    plan = PATTERNS[pattern].of_demand(load_field("corbel"), "31", per_hour, hours, seed)
    visitors = (
        replace(
            each,
            circuits=(*("touch_and_go",) * (len(each.circuits) - 1), "full_stop"),
            profile=JET_TRAINER if jets and each.profile is TURBOPROP_TRAINER else each.profile,
        )
        for each in plan.visitors
    )
    return replace(plan, visitors=tuple(visitors), habits=BY_THE_BOOK)


def fly(pattern: str, per_hour: float, seed: int, hours: float = FLOWN_H, *, jets: bool = False) -> Counted:
    flown = simulate(session(pattern, per_hour, seed, hours, jets=jets))
    answers = closed_requests(flown.events)
    near = flown.separation.nearer_than(flown.plan.field.minimum_separation_nm)
    counted = [event for event in flown.events if event.at >= FILLS_S]
    return Counted(
        hours - FILLS_S / 3600.0,
        len(answers),
        sum(answers),
        sum(isinstance(event, LegEntered) and event.leg == Leg.RUNWAY for event in counted),
        sum(pair.obeying for pair in near if pair.at >= FILLS_S),
        sum(isinstance(event, Left) and event.why.startswith("no room") for event in counted),
    )


def closed_requests(events: Iterable[Event]) -> list[bool]:
    """Whether each request was denied, by the last word on it; those on goes after the pattern has filled."""
    goes: dict[str, float] = {}
    denied: dict[tuple[str, float], bool] = {}
    for event in events:
        if isinstance(event, LegEntered) and event.leg == Leg.DEPARTURE:
            goes[event.aircraft] = event.at
        if isinstance(event, TowerSpoke) and event.reply.startswith("closed_"):
            denied[event.to, goes.get(event.to, 0.0)] = event.reply.startswith("closed_denied")
    return [was for (_, at), was in denied.items() if at >= FILLS_S]


# -- sums and intervals ---------------------------------------------------------------------------


Figure = Callable[[Sequence[Counted]], float]


def denied_share(found: Sequence[Counted]) -> float:
    return sum(each.denied for each in found) / max(sum(each.requests for each in found), 1)


def landings_an_hour(found: Sequence[Counted]) -> float:
    return mean(each.landings / each.hours for each in found)


def interval(found: Sequence[Counted], of: Figure, rng: random.Random) -> tuple[float, float]:
    """The middle 90 per cent of a figure over sessions drawn again."""
    drawn = sorted(of(rng.choices(found, k=len(found))) for _ in range(RESAMPLES))
    return drawn[int(0.05 * RESAMPLES)], drawn[int(0.95 * RESAMPLES) - 1]


def alone(pattern: str, profile: Profile) -> tuple[float, float]:
    """Seconds from the report on initial, or on the 45, to the threshold, and from a touch and go at the
    threshold to the next by closed, with nobody else there."""
    plan = PATTERNS[pattern].of_demand(load_field("corbel"), "31", 1.0, 1.0, 1).pattern
    flight = Flight(plan, profile, start=Leg.INITIAL, at=0.0)
    reported = flight.path.when_at_x(flight.geometry.report_x_nm)
    assert reported is not None
    flight.approve_break(0.0)
    landed: list[float] = []
    while len(landed) < 2:
        landed += [change.at for change in flight.advance(flight.path.ends_at) if change.leg is Leg.RUNWAY]
        if flight.leg in (Leg.FINAL_TURN, Leg.FINAL):
            flight.clear_landing(flight.now, "touch_and_go")
        if flight.leg is Leg.DEPARTURE:
            flight.approve_closed(flight.now)
    return landed[0] - reported, landed[1] - landed[0]


# -- the account ----------------------------------------------------------------------------------

Results = dict[tuple[str, float], list[Counted]]


def account(found: Results, seeds: int, stem: str = "denial_study") -> str:
    rng = random.Random(1)
    rows = [
        "| demand, aircraft an hour | pattern | closed requests | denied, % (90 %) | landings an hour (90 %)"
        " | turned away | pairs too close |",
        "|---|---|---|---|---|---|---|",
    ]
    for (pattern, per_hour), counted in sorted(found.items(), key=lambda item: (item[0][1], item[0][0])):
        low, high = (100.0 * edge for edge in interval(counted, denied_share, rng))
        slow, fast = interval(counted, landings_an_hour, rng)
        rows.append(
            f"| {per_hour:g} | {pattern} | {sum(each.requests for each in counted)}"
            f" | {100.0 * denied_share(counted):.0f} ({low:.0f}–{high:.0f})"
            f" | {landings_an_hour(counted):.1f} ({slow:.1f}–{fast:.1f})"
            f" | {sum(each.turned_off for each in counted)} | {sum(each.too_close for each in counted)} |"
        )
    times = [
        "| class | pattern | report to threshold, s | threshold to threshold by closed, s |",
        "|---|---|---|---|",
    ]
    for profile in PROFILES.values():
        for pattern in PATTERNS:
            arriving, round_ = alone(pattern, profile)
            times.append(f"| {profile.name} | {pattern} | {arriving:.0f} | {round_:.0f} |")
    counted_min = FLOWN_H * 60.0 - FILLS_S / 60.0
    return "\n".join(
        (
            "# Overhead and rectangular pattern as demand rises"
            + (", without turboprops" if stem.endswith("jets") else ""),
            "",
            f"![Closed requests denied and landings an hour against demand]({stem}.svg)",
            "",
            f"{seeds} seeds; of each {FLOWN_H * 60:.0f} minutes the last {counted_min:.0f} count. Written by"
            " `python -m tests.benchmarks.denial_study`, whose docstring states the assumptions.",
            "",
            *rows,
            "",
            "One aircraft alone, from the geometry:",
            "",
            *times,
            "",
            LIMITS,
            "",
        )
    )


LIMITS = """**Limits.** One field, calm, single aircraft: formations, for which the overhead was made, are not flown. The
tower lets nobody slow down or follow by eye and does not extend anybody before the gear is reported; in the rectangular
pattern it can only let in or turn away, where the overhead has three places to break. A landing is anything that comes over the
threshold. Visitors come one at a time to an entry point and go elsewhere after ten minutes, so that above some
16 an hour the three points, and the field's limit of four, hold back part of the demand. Pairs too close were, in
the runs looked into, mostly two at one entry point. The rectangular pattern's figures that are not the class's own are common
practice: see `rectangular.py`."""


def lines(found: Results, of: Figure, scale: float) -> list[Line]:
    rng = random.Random(1)
    out = []
    for pattern in PATTERNS:
        demands = sorted(demand for name, demand in found if name == pattern)
        sets = [found[pattern, demand] for demand in demands]
        middle = [scale * of(each) for each in sets]
        band = [interval(each, of, rng) for each in sets]
        out.append(Line(pattern, demands, middle, [(scale * low, scale * high) for low, high in band]))
    return out


def study(demands: Sequence[float], seeds: int, processes: int, *, jets: bool = False) -> Results:
    jobs = [
        (pattern, demand, seed)
        for demand in sorted(demands, reverse=True)  # the long ones first
        for seed in range(1, seeds + 1)
        for pattern in PATTERNS
    ]
    found: Results = {}
    with ProcessPoolExecutor(processes) as pool:
        for (pattern, demand, _), counted in zip(
            jobs, pool.map(partial(fly, jets=jets), *zip(*jobs, strict=True)), strict=True
        ):
            found.setdefault((pattern, demand), []).append(counted)
    return found


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--seeds", type=int, default=4)
    options.add_argument("--processes", type=int, default=2)
    options.add_argument("--demands", type=float, nargs="+", default=DEMANDS, help="aircraft an hour")
    options.add_argument("--into", type=Path, default=HERE, help="folder for the table and the plot")
    options.add_argument("--jets", action="store_true", help="no turboprops; writes denial_study_jets")
    chosen = options.parse_args()
    found = study(chosen.demands, chosen.seeds, chosen.processes, jets=chosen.jets)
    stem = "denial_study_jets" if chosen.jets else "denial_study"
    words = account(found, chosen.seeds, stem)
    (chosen.into / f"{stem}.md").write_text(words, encoding="utf-8")
    panels = (
        ("closed requests denied, %", lines(found, denied_share, 100.0)),
        ("landings an hour", lines(found, landings_an_hour, 1.0)),
    )
    (chosen.into / f"{stem}.svg").write_text(
        plot(panels, "aircraft an hour that want to come"), encoding="utf-8"
    )
    print(words)


if __name__ == "__main__":
    main()
