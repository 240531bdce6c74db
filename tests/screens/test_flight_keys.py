"""Real keys and the mouse on the flight screen."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from phraseology.wordgraph import Arc, WordAutomaton
from trainer.ears.microphone import BLOCK_SAMPLES, CapturedBlock
from trainer.live.hearing import EarsEvent, EarsLost, Hearing, Tape
from trainer.screens.app import FlightApp
from trainer.screens.conversation import Conversation, Entry
from trainer.screens.debrief_screen import DebriefScreen
from trainer.screens.panels import HintLine

CHECK_IN = (
    "corbel tower, sable two one, one zero miles west, three thousand five hundred, information alfa,"
    " request overhead, touch and go"
)


def said(app: FlightApp) -> str:
    """All that the conversation shows."""
    return "\n".join(str(entry.render()) for entry in app.screen.query(Entry))


async def type_line(pilot: Pilot[None], line: str) -> None:
    await pilot.press(*(" " if key == " " else key for key in line.replace(",", "")), "enter")
    await pilot.pause()


async def test_a_typed_call_is_judged_and_answered(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        flight.until_due(app.advance)
        await type_line(pilot, CHECK_IN)
        flight.until(lambda: flight.live.session.on_air, app.advance)
        flight.until_due(app.advance)
        await pilot.pause()
        assert app.screen.query_one(Input).value == ""
        shown = said(app)
        assert "+ altitude" in shown
        assert "[accepted, 100]" in shown
        assert "sable two one, runway three one, overhead approved, report three mile initial" in shown


async def test_the_hint_comes_and_goes(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        flight.until_due(app.advance)
        hint = app.screen.query_one(HintLine)
        assert "corbel" not in str(hint.render())
        await pilot.press("f2")
        assert str(hint.render()) == f"Say: {CHECK_IN}"
        await pilot.press("escape", "h")
        assert "corbel" not in str(hint.render())


async def test_letters_on_the_typed_line_are_letters(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("p", "q", "h", " ")
        assert app.screen.query_one(Input).value == "pqh "
        assert not flight.live.paused
        assert flight.live.typing


async def test_pause_and_light(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f4")
        app.advance(1.0)
        assert flight.live.session.now == 0.0
        await pilot.press("f4")
        app.advance(1.0)
        assert flight.live.session.now > 0.0
        assert app.current_theme.dark
        await pilot.press("f6")
        assert not app.current_theme.dark


@pytest.mark.parametrize("key", ["ctrl+q", "ctrl+c"])
async def test_leaving_ends_the_session_and_asks_nothing(flown: Callable[..., Any], key: str) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(key)
    assert not app.is_running
    assert flight.live.session.ended is not None
    assert flight.logbook.sessions()[0].summary["reason"] == "the trainee left"


async def test_the_debrief_follows_the_last_call(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        flight.to_the_end(app)
        await pilot.pause()
        assert isinstance(app.screen, DebriefScreen)
        shown = "\n".join(str(static.render()) for static in app.screen.query("Static"))
        assert "Say how you will use the runway" in shown
        assert "= sable two one, gear down, touch and go" in shown
        await pilot.press("enter")
    assert not app.is_running


async def test_the_conversation_keeps_its_end_in_sight(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        flight.into_the_turn(app)
        await pilot.pause()
        conversation = app.screen.query_one(Conversation)
        assert conversation.max_scroll_y > 0
        assert conversation.scroll_offset.y == conversation.max_scroll_y


async def test_the_talk_key_opens_and_closes(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        hearing, ears = flight.grow_ears(app)
        await pilot.press("escape")
        flight.until_due(app.advance)
        await pilot.press("space")
        for _ in range(3):
            hearing.listen()
        await pilot.pause()
        assert flight.live.key_down
        assert flight.live.keyed
        assert flight.live.partial == "roger"
        await pilot.press("space")
        hearing.listen()
        await pilot.pause()
        assert ears.samples == 3 * BLOCK_SAMPLES
        assert not flight.live.keyed
        assert flight.live.calls[0].heard.text == "roger"


async def test_the_talk_button_is_held(flown: Callable[..., Any]) -> None:
    flight = flown()
    app = FlightApp(flight.live, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        hearing, _ = flight.grow_ears(app)
        flight.until_due(app.advance)
        await pilot.pause()
        await pilot.mouse_down("#talk")
        hearing.listen()
        await pilot.pause()
        assert flight.live.keyed
        await pilot.mouse_up("#tower")  # wherever it comes up
        hearing.listen()
        await pilot.pause()
        assert not flight.live.key_down
        assert len(flight.live.calls) == 1


class Unplugged:
    """A `Microphone` at the boundary that is there and gives nothing."""

    dropped = 0

    def start(self) -> None:
        pass

    def read(self, timeout: float) -> CapturedBlock:
        raise OSError("no such device")

    def stop(self) -> None:
        pass


def test_ears_that_fail_say_so(flown: Callable[..., Any]) -> None:
    told: list[EarsEvent] = []
    _, ears = flown().grow_ears(None)
    hearing = Hearing(
        Unplugged(), ears, lambda: WordAutomaton(2, 1, (Arc(0, 1, "roger", 0.0),)), lambda: False, told.append
    )
    hearing.start()
    hearing.join()
    assert told == [EarsLost("The ears have failed (OSError('no such device')).")]


def test_the_tape_gives_what_it_still_holds() -> None:
    tape = Tape(seconds=1.0)
    for number in range(40):
        tape.add(np.full(1600, number, np.int16))
    assert tape.between(3.5, 3.7).tolist() == [35] * 1600 + [36] * 1600
    assert len(tape.between(0.0, 1.0)) == 0
    assert set(tape.between(2.0, 3.2)) == {30, 31}
