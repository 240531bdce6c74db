"""The start screen by real keys and by the mouse, and what is kept of the choice."""

import shutil
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList, Static

from drills.check import drill_names
from trainer import compose
from trainer.live.choosing import Choosing
from trainer.live.front_desk import FrontDesk
from trainer.live.hearing import PartialWords
from trainer.live.shelf import shelf, verdict
from trainer.screens.choice_row import ChoiceRow
from trainer.screens.debrief_screen import DebriefScreen
from trainer.screens.drills_screen import DrillsScreen
from trainer.screens.field_screen import FieldScreen
from trainer.screens.flight_screen import FlightScreen
from trainer.screens.help_overlay import HelpOverlay
from trainer.screens.line import Line
from trainer.screens.microphone_screen import MicrophoneScreen
from trainer.screens.progress_screen import ProgressScreen
from trainer.screens.start_app import StartApp
from trainer.screens.start_screen import FIRST_TIME, StartScreen
from trainer.settings import Choice, Settings, load_settings, save_settings

NEAR = Path(__file__).with_name("near")


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], FrontDesk]]:
    """Makes front desks with a data folder of their own, in a folder with one drill and its field."""
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))
    here = tmp_path / "here"
    shutil.copytree(NEAR, here)
    monkeypatch.chdir(here)
    with ExitStack() as stack:
        yield lambda: FrontDesk(stack, deque())


def shown(app: StartApp, name: str) -> str:
    return str(app.screen.query_one(name, Line).render())


async def until(pilot: Pilot[None], there: Callable[[], bool]) -> None:
    """Wait for it, a minute at most."""
    for _ in range(600):
        if there():
            return
        await pilot.pause(0.1)
    raise AssertionError("it has not come to pass in a minute")


async def type_over(pilot: Pilot[None], words: str) -> None:
    await pilot.press("ctrl+u", *words)


def silently(**more: str) -> None:
    save_settings(Settings(last=Choice(ears="silent", **more)))


async def test_one_key_flies_and_the_choice_is_kept(desk: Callable[[], FrontDesk]) -> None:
    silently()
    app = StartApp(desk(), clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "down", "right")  # the field
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, FlightScreen)
    last = load_settings()[0].last
    assert last is not None
    assert last.field == "wickstone"
    assert StartApp(desk(), clock=None)._desk.choosing.rows()[1].value == "Wickstone"


async def test_the_first_time_it_explains_in_four_lines(desk: Callable[[], FrontDesk]) -> None:
    assert FIRST_TIME.count("\n") == 3
    for times in range(2):
        app = StartApp(desk(), clock=None)
        async with app.run_test(size=(80, 24)):
            (*explained,) = app.screen.query("#first-time")
            assert len(explained) == 1 - times
            if explained:
                assert explained[0].size.height == 4
        silently()


async def test_every_choice_reaches_the_session(desk: Callable[[], FrontDesk]) -> None:
    silently()
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.press("down")
        await type_over(pilot, "heron 42")
        await pilot.press("down", "down", "right", "right")  # US civil tower
        await pilot.press("down", "left")  # the class before the first is the last
        await pilot.press("down", "right", "right", "right")  # solo
        await pilot.press("down", "right", "right")  # patient
        await pilot.press("enter")
        await pilot.pause()
    live = front.live
    assert live is not None
    plan = live.plan
    assert (plan.callsign, plan.field.standard, plan.profile.name) == (
        "HERON 42",
        "us_civil_tower",
        "fast jet",
    )
    assert (plan.difficulty, live.pace) == (50.0, "patient")


async def test_whether_sound_is_kept_is_a_line_and_holds_from_then_on(
    desk: Callable[[], FrontDesk], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first start with sound settles it, so that `fly` need not ask; without sound nobody was asked."""
    silently()
    app = StartApp(desk(), clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        assert "no sound is kept" in shown(app, "#choose-recordings")
        assert not app.screen.query_one("#choose-recordings", ChoiceRow).can_focus
        await pilot.press("enter")
        await pilot.pause()
    assert load_settings()[0].recordings is None
    monkeypatch.setattr(compose, "open_microphone", lambda: (None, "There is no microphone here."))
    for keys, kept in (((), "off"), (("up", "right"), "flac"), ((), "flac")):
        save_settings(load_settings()[0].model_copy(update={"last": Choice()}))
        app = StartApp(desk(), clock=None)
        async with app.run_test(size=(80, 24)) as pilot:
            if keys:
                app.screen.query_one("#begin").focus()
            await pilot.press(*keys)
            app.screen.query_one("#choose-drill").focus()
            await pilot.press("enter")
            await until(pilot, lambda: "There is no microphone here." in shown(app, "#problem"))  # noqa: B023
        assert load_settings()[0].recordings == kept


async def test_a_bad_callsign_is_one_sentence_and_nothing_begins(desk: Callable[[], FrontDesk]) -> None:
    silently()
    app = StartApp(desk(), clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down")
        await type_over(pilot, "21")
        assert 'x "21" is no callsign: write a word of 3 to 6 letters' in shown(app, "#problem")
        await pilot.press("enter")
        await pilot.pause()
        assert app.screen.query_one(Input).value == "21"


async def test_without_a_microphone_the_sentence_stays_on_the_screen(
    desk: Callable[[], FrontDesk], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compose, "open_microphone", lambda: (None, "There is no microphone here."))
    save_settings(Settings(last=Choice()))
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        await until(pilot, lambda: "There is no microphone here." in shown(app, "#problem"))
        assert front.live is None
        await pilot.press("f4")
        await pilot.pause()
        assert isinstance(app.screen, MicrophoneScreen)
        await until(pilot, lambda: "choose typed calls" in str(app.screen.query_one("#found").render()))
        await pilot.press("enter")
        await pilot.pause()
        assert "There is no microphone here." in shown(app, "#microphone")


async def test_a_drill_of_ones_own_by_keys(desk: Callable[[], FrontDesk]) -> None:
    silently()
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.press("f2", "home", "down")
        await until(pilot, lambda: "+ check" in shown(app, "#about-text"))
        about = shown(app, "#about-text")
        assert "One circuit" in about
        assert "Check in, report initial, report the gear, land." in about
        assert "About 6 minutes" in about
        assert "+ check: nothing to say against it" in about
        await pilot.press("enter")
        await pilot.pause()
        assert front.choosing.choice.drill == str(Path.cwd() / "one_circuit.yaml")
        assert [row.value for row in front.choosing.rows() if row.fixed] == [
            "Corbel Field", "US military tower", "fast jet", "as the drill has it", "no sound is kept",
        ]  # fmt: skip
        await pilot.press("enter")
        await pilot.pause()
        assert front.live is not None
        assert front.live.plan.title == "One circuit"
        assert front.live.pace == "quick"


async def test_everything_by_the_mouse(desk: Callable[[], FrontDesk]) -> None:
    silently()
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.click("#choose-aircraft", offset=(13, 0))  # the arrow before
        assert front.choosing.choice.aircraft == "fast jet"
        await pilot.click("#choose-aircraft", offset=(30, 0))
        assert front.choosing.choice.aircraft == "turboprop trainer"
        await pilot.click("#field")
        await pilot.pause()
        assert isinstance(app.screen, FieldScreen)
        await pilot.click("#turn-aircraft")
        assert "jet trainer" in shown(app, "#title")
        await pilot.click("#draw")
        assert app.screen.query_one("#drawing").display
        await pilot.click("#back")
        await pilot.pause()
        await pilot.click("#drills")
        await pilot.pause()
        assert isinstance(app.screen, DrillsScreen)
        await pilot.click(OptionList, offset=(3, 2))
        await pilot.pause()
        assert front.choosing.choice.drill == str(Path.cwd() / "one_circuit.yaml")
        await pilot.click("#begin")
        await pilot.pause()
        assert isinstance(app.screen, FlightScreen)


async def test_a_broken_drill_is_not_chosen(desk: Callable[[], FrontDesk]) -> None:
    Path("zzz.yaml").write_text("drill: Broken\nrunway: 31\n", encoding="utf-8")
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.press("f2", "home", "down", "down")
        await until(pilot, lambda: "x line" in shown(app, "#about-text"))
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, DrillsScreen)
        assert front.choosing.choice.drill is None


def test_the_shelf_has_the_library_and_ones_own(tmp_path: Path) -> None:
    shutil.copytree(NEAR, tmp_path, dirs_exist_ok=True)
    found = shelf(tmp_path)
    assert [each.name for each in found] == [str(tmp_path / "one_circuit.yaml"), *drill_names()]
    assert found[0].title == "One circuit"
    assert verdict(found[0]).startswith("+")


def test_a_drill_that_is_gone_is_a_problem_and_not_the_end(tmp_path: Path) -> None:
    choosing = Choosing(Choice(drill=str(tmp_path / "gone.yaml")), 25.0)
    assert choosing.problem is not None
    assert "gone.yaml" in choosing.problem
    choosing.step("drill", 1)
    assert choosing.problem is None


async def test_one_flight_after_the_other(desk: Callable[[], FrontDesk]) -> None:
    silently()
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        for number in (1, 2):
            await pilot.press("enter")
            await pilot.pause()
            assert front.live is not None
            assert front.live.book.session_id == number
            app.took_place(front.live._took_place(front.live.session.end("that is enough")))
            await pilot.pause()
            assert isinstance(app.screen, DebriefScreen)
            if number == 2:
                await pilot.press("p")
                assert isinstance(app.screen, ProgressScreen)
                await pilot.press("escape")
            await pilot.press("n")
            await pilot.pause()
            assert isinstance(app.screen, StartScreen)
            assert shown(app, "#problem") == ""
            assert front.live is None
        await pilot.press("f5")
        assert isinstance(app.screen, ProgressScreen)
        await pilot.press("escape", "ctrl+q")
    assert [account.splitlines()[0] for account in front.accounts] == [
        "Free flight: that is enough after 0:00"
    ] * 2


async def test_what_the_ears_still_have_of_a_flight_that_is_over_is_let_go(
    desk: Callable[[], FrontDesk],
) -> None:
    silently()
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        await pilot.pause()
        assert front.live is not None
        app.took_place(front.live._took_place(front.live.session.end("that is enough")))
        await pilot.pause()
        live = front.live
        await pilot.press("n")
        app.post_ears(PartialWords("corbel tower"))
        await pilot.pause()
        assert live.partial == ""


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ((), "fly what is chosen"),
        (("f2",), "what check says of it"),
        (("f3",), "the next class of aircraft"),
        (("f5",), "one session each"),
    ],
    ids=["start", "drills", "field", "progress"],
)
async def test_each_screen_has_its_help(
    desk: Callable[[], FrontDesk], keys: tuple[str, ...], words: str
) -> None:
    silently()
    app = StartApp(desk(), clock=None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(*keys)
        screen = app.screen
        await pilot.press("f1")
        assert isinstance(app.screen, HelpOverlay)
        assert words in "\n".join(str(line.render()) for line in app.screen.query(Static))
        await pilot.press("escape")
        assert app.screen is screen


async def test_a_flight_begins_with_the_hints_of_its_drill(
    desk: Callable[[], FrontDesk], tmp_path: Path
) -> None:
    """FORMAT.md: "What is shown of the next call: nothing, its words, or what is in it"; still F2 goes on."""
    words = Path("one_circuit.yaml").read_text(encoding="utf-8")
    own = Path("hinted.yaml")
    own.write_text(f"{words}hints: cue\nvisibility_sm: 4\n", encoding="utf-8")
    silently(drill=str(own.resolve()))
    front = desk()
    app = StartApp(front, clock=None)
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.press("f2")
        about = shown(app, "#about-text")
        assert "Visibility 4 statute miles. What is in the next call is shown." in about
        await pilot.press("escape", "enter")
        await pilot.pause()
        assert shown(app, "#hint").startswith("Say your station, callsign, where")
        assert "visibility 4" in shown(app, "#side-weather")
        await pilot.press("f2")
        assert shown(app, "#hint").startswith("F2 shows")


@pytest.mark.parametrize("size", [(60, 20), (1, 1)], ids=["60x20", "1x1"])
async def test_every_key_at_every_small_size(desk: Callable[[], FrontDesk], size: tuple[int, int]) -> None:
    silently()
    app = StartApp(desk(), clock=None)
    async with app.run_test(size=size) as pilot:
        for keys in (
            "f1 escape",
            "f2 down f1 escape escape",
            "f3 r c w d f1 escape escape",
            "f5 f1 escape escape",
        ):
            await pilot.press(*keys.split())
            await pilot.pause()
            assert isinstance(app.screen, StartScreen)
        await pilot.press("f6", "down", "right", "left")
        assert app.is_running
