"""What the radio costs: milliseconds of work for a second of sound, by length, rate and setting.

    python tests/benchmarks/radio_cost.py

The shortest of nine rounds, so that a busy machine matters little. A tower's message is about 5 s long.
"""

import time
from collections.abc import Callable

import numpy as np

from voices.mixing import Noise, noise
from voices.radio import SETTINGS, blocked, radio
from voices.sound import Sound

ROUNDS = 9
SECONDS = (1.0, 5.0, 15.0)
RATES = (16_000, 22_050)


def babble(seconds: float, rate: int) -> Sound:
    """Pink noise in syllables: the work does not depend on what is said."""
    count = round(seconds * rate)
    samples = 0.1 * noise(Noise.PINK, count, rate, np.random.default_rng(1))
    samples *= np.maximum(0, np.sin(2 * np.pi * 4 * np.arange(count) / rate))
    return Sound(samples.astype(np.float32), rate)


def shortest(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    print(
        "| ms for a second of sound | "
        + " | ".join(f"{s:g} s, {r} Hz" for r in RATES for s in SECONDS)
        + " |"
    )
    print("|---|" + "---|" * (len(RATES) * len(SECONDS)))
    rng = np.random.default_rng(1)
    ways: dict[str, Callable[[Sound], Sound]] = {
        name: lambda sound, setting=setting: radio(sound, setting, rng)  # type: ignore[misc]
        for name, setting in SETTINGS.items()
    }
    ways["blocked"] = lambda sound: blocked(sound, sound, SETTINGS["normal"], rng)
    for name, way in ways.items():
        row = []
        for rate in RATES:
            for seconds in SECONDS:
                sound = babble(seconds, rate)
                row.append(f"{1000 * shortest(lambda sound=sound, way=way: way(sound)) / seconds:.1f}")  # type: ignore[misc]
        print(f"| {name} | " + " | ".join(row) + " |")


if __name__ == "__main__":
    main()
