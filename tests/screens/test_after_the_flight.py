"""The debrief's keys: listening, progress, the page; and what the progress screen makes of a real logbook."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList

from phraseology.heard import Heard
from trainer.live.hearing import TraineeKeyed, TraineeSaid
from trainer.screens.app import FlightApp
from trainer.screens.debrief_screen import DebriefScreen
from trainer.screens.flight_screen import FlightScreen
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.progress_screen import ProgressScreen
from voices.sound import Sound

SPOKEN = np.full(8000, 1000, np.int16)


@pytest.fixture
def heard(flown: Callable[..., Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Any:
    """A flight with one spoken call and one typed answer, and a list of all that is listened to."""
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path))
    flight = flown()
    flight.played = []
    play = flight.live.sounds.listen_to

    def noted(sound: Sound) -> None:
        flight.played.append(sound)
        play(sound)

    flight.live.sounds.listen_to = noted
    return flight


async def debriefed(flight: Any, app: FlightApp, pilot: Pilot[None]) -> None:
    """Check in by voice, answer with a slip, and end the session."""
    call = flight.until_due(app.advance)
    app.took_place(flight.live.hear(TraineeKeyed()))
    app.took_place(flight.live.hear(TraineeSaid(Heard.typed(call), SPOKEN)))
    flight.until_due(app.advance)
    app.took_place(flight.live.typed("sable two one, runway one three, wilco"))
    app.took_place(flight.live._took_place(flight.live.session.end("that is enough")))
    await pilot.pause()
    assert isinstance(app.screen, DebriefScreen)


async def test_listening_to_mine_and_to_the_model(heard: Any) -> None:
    app = FlightApp(heard.live, clock=None)
    async with app.run_test(size=(100, 30)) as pilot:
        await debriefed(heard, app, pilot)
        assert app.screen.query_one(OptionList).highlighted == 1  # the worst
        await pilot.press("m")
        assert heard.played == []  # it was typed
        await pilot.press("up", "m")
        (mine,) = heard.played
        assert mine.samples == pytest.approx(SPOKEN / 32768)
        await pilot.press("w")
        assert len(heard.played) == 2
        assert heard.played[1].seconds > 2.0  # sixteen words and more
        assert heard.live.sounds.speaking is not None
        await pilot.press("s")
        assert heard.live.sounds.speaking is None


async def test_progress_shows_this_session_and_escape_comes_back(heard: Any) -> None:
    app = FlightApp(heard.live, clock=None)
    async with app.run_test(size=(120, 40)) as pilot:
        await debriefed(heard, app, pilot)
        await pilot.press("p")
        assert isinstance(app.screen, ProgressScreen)
        shown = "\n".join(str(static.render()) for static in app.screen.query("Static"))
        assert "1 of 2 calls accepted" in shown
        assert "Check-in" in shown
        assert "to: " in shown
        await pilot.press("f1")
        assert isinstance(app.screen, HelpOverlay)
        await pilot.press("escape", "escape")
        assert isinstance(app.screen, DebriefScreen)
        assert app.is_running


async def test_the_page_is_written_on_a_key(heard: Any, tmp_path: Path) -> None:
    app = FlightApp(heard.live, clock=None)
    async with app.run_test(size=(100, 30)) as pilot:
        await debriefed(heard, app, pilot)
        await pilot.press("e")
        await app.workers.wait_for_complete()
        await pilot.pause()
        (page,) = (tmp_path / "debriefs").iterdir()
        text = page.read_text(encoding="utf-8")
        assert "runway one three" in text or "one three" in text
        assert any(f"Written: {page}" in str(notice.message) for notice in app._notifications)


async def test_without_a_logbook_the_keys_say_so(heard: Any) -> None:
    app = FlightApp(heard.live, clock=None)
    async with app.run_test(size=(100, 30)) as pilot:
        await debriefed(heard, app, pilot)
        heard.live.book._logbook = None
        await pilot.press("p", "e")
        await app.workers.wait_for_complete()
        await pilot.pause()
        said = [str(notice.message) for notice in app._notifications]
        assert "There is no logbook of this session." in said
        assert "There is no logbook of this session to write a page from." in said
        assert isinstance(app.screen, DebriefScreen)


async def test_the_three_levels_of_the_hint_and_the_help(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.press("escape")
        model_call = flight.until_due(app.advance)
        hint = app.screen.query_one("#hint")
        seen = []
        for _ in range(3):
            await pilot.press("h")
            seen.append(str(hint.render()))
        assert seen[0] == f"Say: {model_call}"
        assert seen[1] == "Say your station, callsign, where, altitude, atis, request, intention"
        assert "altitude" not in seen[2]
        await pilot.press("question_mark")
        assert isinstance(app.screen, HelpOverlay)
        await pilot.click("#help")
        assert isinstance(app.screen, FlightScreen)
