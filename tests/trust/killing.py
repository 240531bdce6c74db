"""`fly` flown by a script in a terminal of its own, and killed at a random moment; then what is left of it.

    python tests/trust/killing.py [TRIALS] [LONGEST_S] [SEED]

Each folder has `FLIGHTS_A_FOLDER` flights one after the other, so that each start but the first is one after a kill.
In every second one the calls are spoken, else typed; in every third its voice worker is killed before it, and in
every third together with it. Of ten flights seven are killed after their first call, two after their first event and
one while it starts. A trial's `faults` is empty if all is there that had been there, and nothing that should not.
The recogniser is a part of the program's own process, so the kill of a spoken flight is the kill of it too.
"""

import random
import sys
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))

import vosk  # noqa: F401  what a flight needs is loaded before the forks

import trainer.ears.vosk_ears
import trainer.live.start
import trainer.screens.app  # noqa: F401
from tests.trust.left_behind import command_faults, logbook_faults, processes_left
from tests.trust.scripted import Flight, spoken_calls, take_off
from trainer.ears.recogniser import Block

FLIGHTS_A_FOLDER = 3
AT_ONCE = 4
"""Folders in which somebody flies."""
PATIENCE_S = 600.0
"""So long it may take to the first call on a busy machine."""
STARTING_S = 4.0
LEAST_S = 0.1


@dataclass(frozen=True)
class Trial:
    """`calls` completed, `spoken` of them by voice; `alone`: the worker was killed and the flight went on."""

    calls: int
    spoken: int
    began: bool
    alone: bool
    faults: tuple[str, ...]


@dataclass
class Death:
    """When and how a flight dies: wall seconds from `since` to its end, and to that of its voice worker."""

    after_s: float
    since: Literal["start", "event", "call"]
    worker_after_s: float | None

    @classmethod
    def drawn(cls, number: int, longest_s: float, moments: random.Random) -> "Death":
        after_s = moments.uniform(LEAST_S, longest_s)
        worker = {0: moments.uniform(0.0, after_s), 1: after_s}.get(number // 2 % 3)
        if number % 10 == 9:
            return cls(min(after_s, STARTING_S), "start", None)
        return cls(after_s, "event" if number % 10 > 6 else "call", worker)

    def counts_from(self, flight: Flight) -> float | None:
        """The moment from which it counts, once it has come."""
        return {"start": flight.started, "event": flight.begun, "call": flight.called}[self.since]


class Desk:
    """A folder and who flies there."""

    def __init__(self, folder: Path, numbers: range) -> None:
        self._folder = folder
        self._numbers = numbers
        self._last = 0
        folder.mkdir()

    def fly(self, sounds: Mapping[str, Block], deaths: list[Death]) -> "Flown":
        number, self._numbers = self._numbers[0], self._numbers[1:]
        flight = take_off(self._folder, sounds if number % 2 == 0 else None, self._last)
        return Flown(self, flight, deaths[number])

    @property
    def is_done(self) -> bool:
        return not self._numbers

    def look(self, flight: Flight) -> tuple[int, int, list[str]]:
        """What is wrong in it after a kill; with sounds after the last, for that takes longest."""
        self._last = flight.seen[-1][0] if flight.seen else self._last
        faults = processes_left(flight.workers)
        found, calls, spoken = logbook_faults(self._folder / "data", flight.seen)
        return calls, spoken, [
            *faults, *found, *command_faults(self._folder, calls, spoken, sound=self.is_done),
        ]  # fmt: skip


class Flown:
    """A flight and its end."""

    def __init__(self, desk: Desk, flight: Flight, death: Death) -> None:
        self.desk = desk
        self._flight = flight
        self._death = death
        self._worker_killed_at: float | None = None

    def go_on(self) -> Trial | None:
        """Say what is to be said, and kill what is to be killed by now; what was found after the end."""
        flight, death, now = self._flight, self._death, time.monotonic()
        flight.script()
        since = death.counts_from(flight)
        too_late = since is None and now - flight.started > PATIENCE_S
        if since is None and not too_late:
            return None
        passed = now - since if since else 0.0
        to_kill = death.worker_after_s is not None and self._worker_killed_at is None
        if to_kill and passed >= (death.worker_after_s or 0.0) and flight.kill_worker():
            self._worker_killed_at = now
        if passed < death.after_s and not too_late:
            return None
        flight.kill()
        calls, spoken, faults = self.desk.look(flight)
        if too_late:
            faults.append(f"no first {death.since} within {PATIENCE_S:g} s")
        alone = self._worker_killed_at is not None and self._worker_killed_at < now
        began = flight.begun is not None
        return Trial(calls if began else 0, spoken if began else 0, began, alone, tuple(faults))


def trials(count: int, longest_s: float, seed: int, folder: Path) -> list[Trial]:
    """So many flights, some at once, each killed at a moment of `longest_s` wall seconds."""
    sounds = spoken_calls()
    moments = random.Random(seed)
    deaths = [Death.drawn(number, longest_s, moments) for number in range(count)]
    desks = [
        Desk(folder / str(first), range(first, min(first + FLIGHTS_A_FOLDER, count)))
        for first in range(0, count, FLIGHTS_A_FOLDER)
    ]
    flying: list[Flown] = []
    done: list[Trial] = []
    while desks or flying:
        while desks and len(flying) < AT_ONCE:
            flying.append(desks.pop(0).fly(sounds, deaths))
        for flown in list(flying):
            trial = flown.go_on()
            if trial is not None:
                flying.remove(flown)
                done.append(trial)
                told = "; ".join(trial.faults) or f"{trial.calls} calls, {trial.spoken} spoken"
                print(f"{len(done)} of {count}: {told}", flush=True)
                if not flown.desk.is_done:
                    desks.insert(0, flown.desk)
        time.sleep(0.02)
    return done


def main(arguments: list[str]) -> int:
    count, longest_s, seed = (*map(float, arguments), *(300.0, 20.0, 1.0)[len(arguments) :])
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        found = trials(int(count), longest_s, int(seed), Path(folder))
    bad = [each for each in found if each.faults]
    print(
        f"{len(found)} flights killed, {sum(not each.began for each in found)} of them before they had begun,"
        f" {sum(each.alone for each in found)} after their voice worker;"
        f" {sum(each.calls for each in found)} calls completed, {sum(each.spoken for each in found)} spoken;"
        f" {len(bad)} with a fault; {time.monotonic() - began:.0f} s"
    )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
