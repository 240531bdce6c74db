"""Pictures of the screens. After a change that is meant: look at them, then --snapshot-update."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from trainer.screens.app import FlightApp
from trainer.screens.progress_screen import ProgressScreen

sys.path.insert(0, str(Path(__file__).parent))

from progress_sample import DUE, SAMPLE

SIZES = pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)], ids=["80x24", "120x40", "200x60"])
LIGHTS = pytest.mark.parametrize("light", [False, True], ids=["dark", "light"])


def still(app: FlightApp) -> None:
    """No blinking: a picture must not depend on when it is taken."""
    app.screen.query_one(Input).cursor_blink = False


@SIZES
@LIGHTS
def test_flight(snap_compare: Any, flown: Callable[..., Any], size: tuple[int, int], light: bool) -> None:
    flight = flown()

    async def fly(pilot: Pilot[None]) -> None:
        still(app)
        flight.grow_ears(app)
        await pilot.press("escape", "f2", *(["f6"] if light else []))
        flight.into_the_turn(app)
        await pilot.pause()

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=size, run_before=fly)


@pytest.mark.parametrize(
    ("size", "keys"),
    [
        ((80, 24), ["f7"]),
        ((120, 40), ["f8", "f8"]),
        ((120, 40), ["f2", "f2"]),
        ((60, 20), []),
        ((80, 24), ["f1"]),
    ],
    ids=["the plan alone", "north up", "the cue", "60x20", "help"],
)
def test_flight_otherwise(
    snap_compare: Any, flown: Callable[..., Any], size: tuple[int, int], keys: list[str]
) -> None:
    flight = flown()

    async def fly(pilot: Pilot[None]) -> None:
        still(app)
        flight.grow_ears(app)
        await pilot.press("escape")
        flight.into_the_turn(app)
        await pilot.pause()
        await pilot.press(*keys)
        await pilot.pause()

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=size, run_before=fly)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
def test_before_the_first_call(snap_compare: Any, flown: Callable[..., Any], size: tuple[int, int]) -> None:
    flight = flown()

    async def begin(pilot: Pilot[None]) -> None:
        still(app)
        app.advance(0.5)
        await pilot.pause()

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=size, run_before=begin)


@SIZES
@LIGHTS
def test_debrief(snap_compare: Any, flown: Callable[..., Any], size: tuple[int, int], light: bool) -> None:
    flight = flown()

    async def fly(pilot: Pilot[None]) -> None:
        flight.to_the_end(app)
        await pilot.pause()
        await pilot.press(*(["l"] if light else []))
        await pilot.pause()

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=size, run_before=fly)


@SIZES
@LIGHTS
def test_progress(snap_compare: Any, flown: Callable[..., Any], size: tuple[int, int], light: bool) -> None:
    async def look(pilot: Pilot[None]) -> None:
        app.push_screen(ProgressScreen(SAMPLE, DUE))
        await pilot.pause()
        await pilot.press(*(["l"] if light else []))
        await pilot.pause()

    app = FlightApp(flown().live, clock=None)
    assert snap_compare(app, terminal_size=size, run_before=look)
