"""`fly --difficulty`: what it takes, what it sets, and where the next free flight begins."""

from collections import deque
from pathlib import Path

import numpy as np
import pytest

from trainer.errors import TrainerError
from trainer.live.book import FlightBook
from trainer.live.hearing import TraineeKeyed
from trainer.live.session import LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.start import closing_account, keep_difficulty, plan_of
from trainer.logbook.store import Logbook
from trainer.models import use_model
from trainer.radio_room import RadioRoom
from trainer.session.difficulty import HARDEST, LEVELS, STEP, USUAL, ingredients
from trainer.session.frequency import TOWER
from trainer.settings import load_settings
from voices.playback import SilentPlayer
from voices.sound import Sound, Voice


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))
    return tmp_path


class TwoVoices:
    """A `Speaker` at the boundary, of a system with two voices: it gives a tone as long as the words would take."""

    def __init__(self) -> None:
        self.spoken: list[tuple[str, Voice]] = []

    def voices(self) -> tuple[str, ...]:
        return ("one", "two")

    def speak(self, text: str, voice: Voice) -> Sound:
        self.spoken.append((text, voice))
        seconds = 60.0 * len(text.split()) / voice.words_a_minute
        times = np.arange(round(seconds * 16_000)) / 16_000
        return Sound((0.2 * np.sin(2 * np.pi * 400 * times)).astype(np.float32), 16_000)

    def close(self) -> None:
        pass


def begun(folder: Path, difficulty: str | None) -> tuple[LiveSession, TwoVoices]:
    plan, _ = plan_of(None, None, "corbel", None, seed=1, difficulty=difficulty)
    speaker = TwoVoices()
    notices: deque[str] = deque()
    sounds = FrequencySound(RadioRoom(speaker, plan.stations, 1), SilentPlayer(lambda: 0.0), notices.append)
    logbook = Logbook.open(folder)
    book = FlightBook(logbook, logbook.start_session({}, "2025-01-31T18:00:00"), None, notices.append)
    return LiveSession(plan, "real", sounds, book, notices), speaker


@pytest.mark.parametrize("name", LEVELS)
def test_every_name_is_a_number(name: str) -> None:
    plan, _ = plan_of(None, None, "corbel", None, seed=1, difficulty=name)
    assert plan.difficulty == LEVELS[name]


def test_without_it_the_usual_one_and_then_where_the_last_flight_ended(data: Path) -> None:
    live, _ = begun(data, None)
    assert live.session.level == USUAL
    live.session._adapted(live.session._adapting.after_missed("initial"))
    live.leave()
    keep_difficulty(live)
    assert f"difficulty {USUAL - STEP:g} of 100" in closing_account(live)
    assert load_settings()[0].difficulty == USUAL - STEP
    assert begun(data, None)[0].session.level == USUAL - STEP
    assert begun(data, "solo")[0].session.level == LEVELS["solo"], "the option goes before what is kept"


def test_a_choice_of_model_keeps_the_difficulty(data: Path) -> None:
    live, _ = begun(data, "40")
    live.leave()
    keep_difficulty(live)
    use_model("embedded")
    assert load_settings()[0].difficulty == 40.0


@pytest.mark.parametrize("difficulty", ["begginer", "101", "-1", "nan", ""])
def test_what_is_no_difficulty_is_one_sentence_with_the_choices(difficulty: str) -> None:
    with pytest.raises(TrainerError, match="write a number from 0 to 100, or one of: beginner, student"):
        plan_of(None, None, "corbel", None, seed=1, difficulty=difficulty)


def test_a_drill_takes_none() -> None:
    with pytest.raises(TrainerError, match="a drill says itself how hard it is"):
        plan_of("first_flight", None, "corbel", None, seed=1, difficulty="solo")
    assert plan_of("first_flight", None, "corbel", None, seed=1)[0].difficulty is None


@pytest.mark.parametrize(
    ("difficulty", "rate"), [("beginner", 100), ("check-ride", round(HARDEST.words_a_minute))]
)
def test_the_tower_speaks_at_the_levels_rate_and_pilots_do_not(
    data: Path, difficulty: str, rate: int
) -> None:
    live, speaker = begun(data, difficulty)
    words = "sable two one, left closed approved"
    slow = live.sounds.seconds(TOWER, words)
    assert speaker.spoken[-1][1].words_a_minute == rate
    live.sounds.seconds("SABLE 21", words)
    assert speaker.spoken[-1][1].words_a_minute in (150, 155, 165, 175, 180)
    live.session._adapting.level = 50.0
    assert live.sounds.seconds(TOWER, words) == slow, "until he keys, what was made ahead stays good"
    live.hear(TraineeKeyed())
    assert live.sounds.seconds(TOWER, words) != slow
    assert speaker.spoken[-1][1].words_a_minute == round(ingredients(50.0).words_a_minute)


def test_two_voices_are_enough_for_everybody(data: Path) -> None:
    """A demand has more stations than such a system has voices: who comes later has another's."""
    live, speaker = begun(data, "check-ride")
    for station in live.plan.stations:
        assert live.sounds.seconds(station, "wilco") > 0
    assert len(live.plan.stations) > 10
    assert len({voice for _, voice in speaker.spoken}) > 5
