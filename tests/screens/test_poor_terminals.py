"""Small terminals, terminals without colour or Unicode, and one that is resized all the time."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from trainer.screens.app import FlightApp

COMMAND = (
    *(sys.executable, "-c", "from trainer.cli import main; main()"),
    *("fly", "--no-sound", "--drill", "first_flight"),
)
PATIENCE_S = 60.0
COLOUR = re.compile(rb"\x1b\[[0-9;]*38;2;(\d+);(\d+);(\d+)")


class Terminal:
    """A pseudo terminal with the command in it."""

    def __init__(self, handle: int, flight: "subprocess.Popen[bytes]") -> None:
        self._handle = handle
        self.flight = flight
        self.got = b""

    def resize(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self._handle, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.flight.send_signal(signal.SIGWINCH)

    def press(self, keys: bytes) -> None:
        os.write(self._handle, keys)

    def read(self, seconds: float = 0.0, awaited: bytes | None = None) -> bytes:
        """What comes within so many seconds, or until something awaited is there."""
        ends = time.monotonic() + (seconds or PATIENCE_S)
        part = b""
        while time.monotonic() < ends and (awaited is None or awaited not in part):
            if select.select([self._handle], [], [], 0.05)[0]:
                try:
                    block = os.read(self._handle, 65536)
                except OSError:  # the other end has closed
                    break
                part += block
        self.got += part
        assert awaited is None or awaited in part, f"{awaited!r} has not come after {part[-300:]!r}"
        return part


@contextmanager
def flying(folder: Path, size: tuple[int, int], **environment: str) -> Iterator[Terminal]:
    handle, other_end = pty.openpty()
    fcntl.ioctl(handle, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
    clean = {
        key: value for key, value in os.environ.items() if not key.startswith(("LC_", "LANG", "NO_COLOR"))
    }
    clean |= {"PATTERNVOICE_DATA": str(folder), "TERM": "xterm-256color", "COLORTERM": "truecolor"}
    with subprocess.Popen(
        COMMAND,
        stdin=other_end,
        stdout=other_end,
        stderr=subprocess.PIPE,
        env=clean | {"PYTHONPATH": os.getcwd()} | environment,
        start_new_session=True,
    ) as flight:
        os.close(other_end)
        terminal = Terminal(handle, flight)
        terminal.read(awaited=b"Tower")
        yield terminal
        terminal.press(b"\x11")  # ^q
        terminal.read(awaited=b"logbook    ")
        assert flight.wait(PATIENCE_S) == 0
        assert flight.stderr is not None
        assert flight.stderr.read() == b""
    os.close(handle)


def test_without_unicode_only_ascii_is_drawn(tmp_path: Path) -> None:
    with flying(tmp_path, (120, 40), LANG="C") as terminal:
        terminal.read(1.0)
        terminal.press(b"\x1b")
        terminal.read(0.5)
        terminal.press(b"?")
        terminal.read(awaited=b"talk key")
        terminal.press(b"q")
        terminal.read(0.5)
    assert terminal.got.isascii()
    assert b"runway up" in terminal.got


def test_without_colour_all_is_grey(tmp_path: Path) -> None:
    with flying(tmp_path, (120, 40), LANG="C.UTF-8", NO_COLOR="1") as terminal:
        terminal.read(1.0)
    colours = {tuple(map(int, found.groups())) for found in COLOUR.finditer(terminal.got)}
    assert len(colours) > 1
    assert all(max(colour) - min(colour) <= 1 for colour in colours)
    with flying(tmp_path, (120, 40), LANG="C.UTF-8") as terminal:
        terminal.read(1.0)
    assert any(
        max(map(int, found.groups())) - min(map(int, found.groups())) > 20
        for found in COLOUR.finditer(terminal.got)
    )


def test_a_storm_of_sizes_breaks_nothing(tmp_path: Path) -> None:
    with flying(tmp_path, (80, 24), LANG="C.UTF-8") as terminal:
        for number in range(120):
            terminal.resize(2 + number * 37 % 220, 1 + number * 17 % 70)
            terminal.read(0.02)
        terminal.resize(100, 30)
        terminal.read(1.0)


@pytest.mark.parametrize(
    "size", [(60, 20), (40, 12), (20, 6), (1, 1)], ids=lambda size: f"{size[0]}x{size[1]}"
)
async def test_every_key_at_every_small_size(flown: Callable[..., Any], size: tuple[int, int]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=size) as pilot:
        await pilot.press("escape")
        flight.into_the_turn(app)
        for key in ("f1", "escape", "f2", "f2", "f2", "f4", "f4", "f6", "f7", "f8", "f8", "f8", "f7"):
            await pilot.press(key)
            app.advance(0.1)
        while flight.live.session.ended is None:
            app.took_place(flight.live.typed(flight.until_due(app.advance)))
        await pilot.pause()
        for key in ("down", "up", "m", "w", "s", "f1", "escape", "p", "f1", "escape", "l", "escape"):
            await pilot.press(key)
    assert flight.live.session.ended is not None


async def test_resizing_through_all_breakpoints_keeps_the_plan_drawn(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("escape")
        flight.until_due(app.advance)
        for size in ((120, 40), (60, 20), (200, 60), (109, 33), (110, 34), (80, 24), (120, 40)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            app.advance(0.1)
            await pilot.pause()
            plan = app.screen.query_one("#plan")
            assert plan.display == (size[0] >= 110)
            if plan.display:
                text = "".join(
                    segment.text for y in range(plan.size.height) for segment in plan.render_line(y)
                )
                assert "1 NM" in text
                assert any(0x2800 < ord(sign) < 0x2900 for sign in text)
