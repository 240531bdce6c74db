"""The flight screen on a real terminal: its share of one core with twelve aircraft, and key to screen.

Run: python tests/benchmarks/screen_speed.py [--size 80x24,120x40,200x60] [--seconds 20] [--aircraft 12]
Free flight at the real pace on a pseudo-terminal, ten frames a second, without ears and voices. The
share is the processor time of the whole process, session included, after three seconds. Key to screen is
from the writing of F2 until the hint is in what the terminal is sent.
"""

import argparse
import fcntl
import os
import pty
import random
import select
import struct
import sys
import tempfile
import termios
import time
from collections import deque
from pathlib import Path
from statistics import median

TOP = Path(__file__).parents[2]
sys.path.insert(0, str(TOP))

WARM_UP_S = 3.0
HINT_KEY = b"\x1bOQ"
PRESSES = 12


def fly(aircraft: int, seconds: float, out: Path) -> None:
    """In the child: the application, with so many aircraft in it; its figures go to `out`."""
    from trainer.live.book import FlightBook
    from trainer.live.session import LiveSession
    from trainer.live.sounds import FrequencySound
    from trainer.live.start import plan_of
    from trainer.pattern.flight import Flight
    from trainer.pattern.leg import Leg
    from trainer.screens.app import FlightApp
    from trainer.session.aircraft import Aircraft
    from trainer.session.pilots import BY_THE_BOOK, Pilot
    from voices.playback import SilentPlayer

    notices: deque[str] = deque()
    plan, _ = plan_of(None, None, "corbel", "31", 1, "50")
    sounds = FrequencySound(None, SilentPlayer(), notices.append)
    live = LiveSession(plan, "real", sounds, FlightBook(None, 0, None, notices.append), notices, "typed")
    session = live.session
    legs = (Leg.INITIAL, Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND, Leg.OUTSIDE_DOWNWIND, Leg.CROSSWIND)
    while len(session.aircraft) < aircraft:
        number = len(session.aircraft)
        name = plan.stations[-number]
        other = Flight(plan.pattern, plan.profile, start=legs[number % len(legs)], at=0.0)
        pilot = Pilot(BY_THE_BOOK, random.Random(number))
        session.aircraft[name] = Aircraft(name, other, (), plan.context(name), pilot=pilot)
    app = FlightApp(live)

    def begin() -> None:
        marks.append((time.process_time(), time.monotonic()))

    def end() -> None:
        used, passed = time.process_time() - marks[0][0], time.monotonic() - marks[0][1]
        out.write_text(f"{used / passed} {len(session.aircraft)}", encoding="utf-8")
        app.exit()

    marks: list[tuple[float, float]] = []
    app.call_later(lambda: app.set_timer(WARM_UP_S, begin))
    app.call_later(lambda: app.set_timer(WARM_UP_S + seconds, end))
    app.run()
    live.close()


def measure(size: tuple[int, int], aircraft: int, seconds: float) -> None:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "figures"
        child, terminal = pty.fork()
        if child == 0:
            os.environ.update(TERM="xterm-256color", COLORTERM="truecolor", LANG="C.UTF-8")
            fly(aircraft, seconds, out)
            os._exit(0)
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        sent, keys = watch(terminal, seconds)
        os.waitpid(child, 0)
        share, there = out.read_text(encoding="utf-8").split()
    waits = f"median {1000 * median(keys):.0f} ms, worst {1000 * max(keys):.0f} ms" if keys else "not seen"
    print(
        f"{size[0]}x{size[1]}, {there} aircraft: {100 * float(share):.1f} % of one core,"
        f" {sent / (seconds + WARM_UP_S) / 1024:.1f} KiB a second to the terminal;"
        f" key to screen {waits} ({len(keys)} presses)"
    )


def watch(terminal: int, seconds: float) -> tuple[int, list[float]]:
    """Read what the screen is sent, and press F2 once a second in the second half; bytes, and waits."""
    begun, sent, keys = time.monotonic(), 0, []
    pressed: float | None = None
    presses, text = 0, b""
    while True:
        now = time.monotonic()
        due = begun + WARM_UP_S + seconds / 2.0 + presses * seconds / 2.0 / (PRESSES + 1)
        if presses < PRESSES and now >= due and pressed is None:
            os.write(terminal, HINT_KEY)
            pressed, text, presses = time.monotonic(), b"", presses + 1
        ready, _, _ = select.select([terminal], [], [], 0.002)
        if not ready:
            continue
        try:
            block = os.read(terminal, 1 << 16)
        except OSError:
            return sent, keys
        if not block:
            return sent, keys
        sent += len(block)
        text += block
        words = (b"Say: ", b"Say your", b"F2 shows", b"Nothing to say")
        if pressed is not None and any(word in text for word in words):
            keys.append(time.monotonic() - pressed)
            pressed = None
        elif pressed is not None and time.monotonic() - pressed > 2.0:
            pressed = None  # the busy machine or a lost key; the count tells


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", default="80x24,120x40,200x60")
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--aircraft", type=int, default=12)
    given = parser.parse_args()
    for each in given.size.split(","):
        wide, high = map(int, each.split("x"))
        measure((wide, high), given.aircraft, given.seconds)
