"""Pictures of the start screen, the drills and the field. After a change that is meant: look, then --snapshot-update."""

from collections import deque
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from trainer.live.front_desk import FrontDesk
from trainer.live.shelf import shelf
from trainer.screens.start_app import StartApp

SIZES = [(80, 24), (120, 40), (200, 60)]


@pytest.fixture
def app(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[StartApp]:
    """In an empty folder, so that the library is all there is; what check says is not waited for."""
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    with ExitStack() as stack:
        desk = FrontDesk(stack, deque())
        few = ("denied_three_ways", "first_flight", "similar_callsigns")  # the library grows
        monkeypatch.setattr(desk, "shelf", lambda: [each for each in shelf() if each.name in few])
        monkeypatch.setattr(desk, "verdict", lambda shelved: "+ check: nothing to say against it")
        yield StartApp(desk, clock=None)


def pictured(app: StartApp, *keys: str, day: bool) -> Any:
    async def press(pilot: Pilot[None]) -> None:
        app.screen.query_one(Input).cursor_blink = False
        if day:
            await pilot.press("l")
        while "measured" not in str(app.screen.query_one("#microphone").render()):
            await pilot.pause(0.05)  # read beside the screen
        await pilot.press(*keys)
        await pilot.pause(0.5)

    return press


@pytest.mark.parametrize("day", [False, True], ids=["evening", "day"])
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("keys", [(), ("f3",), ("f2", "down")], ids=["start", "field", "drills"])
def test_screens(
    snap_compare: Any, app: StartApp, keys: tuple[str, ...], size: tuple[int, int], day: bool
) -> None:
    assert snap_compare(app, terminal_size=size, run_before=pictured(app, *keys, day=day))


def test_a_drill_is_chosen(snap_compare: Any, app: StartApp) -> None:
    keys = ("f2", "down", "down", "enter")
    assert snap_compare(app, terminal_size=(80, 24), run_before=pictured(app, *keys, day=False))


def test_the_drawing_in_a_small_terminal(snap_compare: Any, app: StartApp) -> None:
    keys = ("f3", "c", "c", "w", "d")
    assert snap_compare(app, terminal_size=(80, 24), run_before=pictured(app, *keys, day=False))


def test_the_help(snap_compare: Any, app: StartApp) -> None:
    assert snap_compare(app, terminal_size=(80, 24), run_before=pictured(app, "f1", day=False))
