"""Pictures of the screens. After a change that is meant: look at them, then --snapshot-update."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from trainer.screens.app import FlightApp


def still(app: FlightApp) -> None:
    """No blinking: a picture must not depend on when it is taken."""
    app.screen.query_one(Input).cursor_blink = False


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
def test_flight(snap_compare: Any, flown: Callable[..., Any], size: tuple[int, int]) -> None:
    flight = flown()

    async def fly(pilot: Pilot[None]) -> None:
        still(app)
        flight.grow_ears(app)
        await pilot.press("escape", "f2")
        flight.into_the_turn(app)
        await pilot.pause()

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=size, run_before=fly)


def test_flight_by_day(snap_compare: Any, flown: Callable[..., Any]) -> None:
    flight = flown()

    async def fly(pilot: Pilot[None]) -> None:
        still(app)
        flight.into_the_turn(app)
        await pilot.press("f6")

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=(80, 24), run_before=fly)


def test_before_the_first_call(snap_compare: Any, flown: Callable[..., Any]) -> None:
    flight = flown()

    async def begin(pilot: Pilot[None]) -> None:
        still(app)
        app.advance(0.5)
        await pilot.pause()

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=(80, 24), run_before=begin)


def test_debrief(snap_compare: Any, flown: Callable[..., Any]) -> None:
    flight = flown()

    async def fly(pilot: Pilot[None]) -> None:
        flight.to_the_end(app)
        await pilot.pause()
        await pilot.press("pagedown")

    app = FlightApp(flight.live, clock=None)
    assert snap_compare(app, terminal_size=(80, 24), run_before=fly)
