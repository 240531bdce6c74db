"""Practice that remembers against a uniform choice, with simulated learners: what is recalled after 30 days.

    python -m tests.benchmarks.spaced_practice [--plot tests/benchmarks/spaced_practice.svg]

The learner is not the scheduler's own model. An item that was met d days ago is recalled with probability
2 ** (-d / h); h is its half-life in days (the exponential form of half-life regression, Settles and Meeder
2016). The first meeting gives h of 0.5 to 3 days, by the item. A success multiplies it by 1 + gain *
(0.5 + forgotten), where forgotten is 1 - the probability just before: what was nearly forgotten gains most
(the spacing effect); gain is 0.5 to 2, by the item. A failure halves h, never below its first value. After
either the item is fresh. What was never met is not recalled. All figures of the learner are our own choice.

One session a day for 30 days. "spaced" is what `patternvoice practise` does with single items: the most
needful of what is due, weak or new by `trainer.practice`, which sees right and wrong only. "uniform" draws
as many different items by chance.
"""

import argparse
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import fmean, stdev

from tests.benchmarks.denial_plot import Line, plot
from trainer.practice.choosing import NEW_NEED, need
from trainer.practice.memory import Item, Review, memories

ITEMS, DAYS, SEEDS = 120, 30, 20
FIRST_SEED = 100  # the need of new items was chosen on seeds 0 to 2
A_DAY = (6, 12, 24)
BEGIN = datetime(2026, 1, 1, 18, tzinfo=UTC)
POINTS = (1, 5, 10, 15, 20, 25, 30)


@dataclass
class Learner:
    """Days are since the beginning; `half_life` and `met` are by item."""

    chance: random.Random
    first: list[float] = field(default_factory=list)
    gain: list[float] = field(default_factory=list)
    half_life: dict[int, float] = field(default_factory=dict)
    met: dict[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.first = [self.chance.uniform(0.5, 3.0) for _ in range(ITEMS)]
        self.gain = [self.chance.uniform(0.5, 2.0) for _ in range(ITEMS)]

    def recall(self, item: int, day: float) -> float:
        if item not in self.met:
            return 0.0
        return float(2.0 ** (-(day - self.met[item]) / self.half_life[item]))

    def practise(self, item: int, day: float) -> bool:
        """Whether it was recalled."""
        chance = self.recall(item, day)
        right = self.chance.random() < chance
        before = self.half_life.get(item, self.first[item])
        grown = before * (1.0 + self.gain[item] * (1.5 - chance))
        self.half_life[item] = grown if right else max(self.first[item], before / 2.0)
        self.met[item] = day
        return right


Chooser = Callable[[Sequence[Review], int, int, random.Random], list[int]]


def spaced(reviews: Sequence[Review], day: int, count: int, chance: random.Random) -> list[int]:
    """As the program chooses."""
    now = BEGIN + timedelta(days=day)
    ordered = sorted(reviews, key=lambda review: (review.item, review.at))
    needs = {int(memory.item.element): need(memory, now) for memory in memories(ordered, now)}
    by_need = sorted(range(ITEMS), key=lambda item: (-needs.get(item, NEW_NEED), item))
    return [item for item in by_need if needs.get(item, NEW_NEED) > 0.0][:count]


def uniform(reviews: Sequence[Review], day: int, count: int, chance: random.Random) -> list[int]:
    return chance.sample(range(ITEMS), count)


def learn(choose: Chooser, count: int, seed: int) -> tuple[list[float], float, int]:
    """The share of all items recalled on each day, of those met on the last day, and how many were practised."""
    learner, chance = Learner(random.Random(seed)), random.Random(seed + 10_000)
    reviews: list[Review] = []
    shares = []
    for day in range(DAYS):
        for item in choose(reviews, day, count, chance):
            right = learner.practise(item, day)
            at = BEGIN + timedelta(days=day)
            reviews.append(Review(Item("", "", str(item)), at, 3 if right else 1))
        shares.append(fmean(learner.recall(item, day + 1.0) for item in range(ITEMS)))
    met = fmean(learner.recall(item, float(DAYS)) for item in learner.met)
    return shares, met, len(reviews)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--plot", type=Path)
    parser.add_argument("--seeds", type=int, default=SEEDS)
    options = parser.parse_args()
    panels = []
    for count in A_DAY:
        lines = []
        last: dict[str, list[float]] = {}
        for name, choose in (("spaced", spaced), ("uniform", uniform)):
            runs = [learn(choose, count, seed) for seed in range(FIRST_SEED, FIRST_SEED + options.seeds)]
            last[name] = [100.0 * shares[-1] for shares, _, _ in runs]
            by_day = {day: [100.0 * shares[day - 1] for shares, _, _ in runs] for day in POINTS}
            lines.append(
                Line(
                    name,
                    POINTS,
                    [fmean(by_day[day]) for day in POINTS],
                    [(min(by_day[day]), max(by_day[day])) for day in POINTS],
                )
            )
            met, done = 100.0 * fmean(met for _, met, _ in runs), fmean(done for _, _, done in runs)
            print(
                f"{count:>3} a day, {name:8}: {fmean(last[name]):.1f} % of {ITEMS} items recalled on day {DAYS}"
                f" (sd {stdev(last[name]):.1f}), {met:.1f} % of those met; {done:.0f} items practised"
            )
        better = sum(one > other for one, other in zip(last["spaced"], last["uniform"], strict=True))
        print(f"     spaced is better with {better} of {options.seeds} learners", flush=True)
        panels.append((f"{count} items a day: recalled, % of {ITEMS}", lines))
    if options.plot:
        options.plot.write_text(plot(panels, "day"), encoding="utf-8")


if __name__ == "__main__":
    main()
