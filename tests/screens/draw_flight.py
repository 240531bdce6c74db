"""Draws the pictures of the README: flight.svg and debrief.svg beside this file, and PNG where chromium is.

Run from the top of the project: python tests/screens/draw_flight.py
"""

import asyncio
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1]))

from conftest import take_off  # noqa: E402 - found beside this file

from trainer.screens.app import FlightApp  # noqa: E402

SIZE = (120, 36)


async def draw(svg: Path, to_the_end: bool) -> None:
    """The landing clearance after a gear report with the wrong intention, with the hint; or the debrief."""
    with tempfile.TemporaryDirectory() as folder:
        flight = take_off(Path(folder))
        app = FlightApp(flight.live, clock=None)
        async with app.run_test(size=SIZE) as pilot:
            flight.grow_ears(app)
            await pilot.press("escape", "f2")
            (flight.to_the_end if to_the_end else flight.into_the_turn)(app)
            await pilot.pause()
            app.save_screenshot(svg.name, str(svg.parent))
        flight.close()


def rasterise(svg: Path, chromium: str) -> None:
    box = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg.read_text(encoding="utf-8"))
    assert box is not None
    subprocess.run(
        [
            chromium, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--hide-scrollbars", "--default-background-color=00000000",
            f"--window-size={round(float(box[1]))},{round(float(box[2]))}",
            f"--screenshot={svg.with_suffix('.png')}", svg.as_uri(),
        ],
        check=True,
        capture_output=True,
    )  # fmt: skip


if __name__ == "__main__":
    browser = shutil.which("chromium")
    for name in ("flight", "debrief"):
        picture = HERE / f"{name}.svg"
        asyncio.run(draw(picture, to_the_end=name == "debrief"))
        if browser:
            rasterise(picture, browser)
