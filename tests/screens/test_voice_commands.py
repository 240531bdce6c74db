"""Words to the trainer itself in a live session: what they do, and that they do nothing while a call is open."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from phraseology.heard import Heard, HeardBy, HeardWord
from trainer.live.hearing import TraineeKeyed, TraineeSaid
from trainer.session.events import Event, NotUnderstood, SessionEnded, TowerSpoke, TraineeSpoke

SOUND = np.full(1600, 1000, np.int16)


def spoken(live: Any, words: str, confidence: float = 1.0) -> list[Event]:
    """The ears have heard these words where they listened for them."""
    heard = Heard(tuple(HeardWord(word, confidence) for word in words.split()), HeardBy.SITUATION)
    return [*live.hear(TraineeKeyed()), *live.hear(TraineeSaid(heard, SOUND))]


def nothing_due(flight: Any) -> Any:
    """Checked in and read back: the flight is on its way to initial."""
    live = flight.live
    for _ in range(2):
        live.typed(flight.until_due())
    flight.until(lambda: live.session.prompt is None and not live.session.on_air and not live.muted)
    return live


def test_pause_and_resume(flown: Callable[..., Any]) -> None:
    flight = flown()
    live = nothing_due(flight)
    flight.step()
    assert live.situation.accepts(["pause"])
    assert not live.situation.accepts(["resume"])
    assert spoken(live, "pause") == []
    assert live.paused
    before = live.session.now
    flight.step()
    assert live.session.now == before
    assert not live.muted  # or "resume" could not be heard
    assert live.situation.accepts(["resume"])
    assert not live.situation.accepts(["sable", "two", "one", "three", "mile", "initial"])
    assert spoken(live, "sable two one") == []  # to nobody, while the clock stands
    assert spoken(live, "resume") == []
    flight.step()
    assert live.session.now > before
    assert len(live.calls) == 2


def test_a_command_blocks_nobody_and_costs_nothing(flown: Callable[..., Any]) -> None:
    flight = flown()
    live = nothing_due(flight)
    score = live.session.mean_score
    spoken(live, "say again")
    assert not live.session.on_air
    assert live.session.mean_score == score
    assert live.notices.pop().startswith("Corbel Tower: sable two one, runway three one, overhead approved")
    assert live.sounds.speaking is not None


def test_end_session(flown: Callable[..., Any]) -> None:
    flight = flown()
    (ended,) = spoken(nothing_due(flight), "end session")
    assert isinstance(ended, SessionEnded)
    assert ended.reason == "the trainee ended the session"
    assert flight.logbook.sessions()[0].summary["reason"] == ended.reason


def test_a_doubtful_command_is_asked_about(flown: Callable[..., Any]) -> None:
    live = nothing_due(flown())
    assert spoken(live, "end session", confidence=0.8) == []
    assert live.session.ended is None
    assert live.notices.pop() == 'Was that "end session"? Say it again.'


def test_a_typed_command_is_one_too(flown: Callable[..., Any]) -> None:
    live = nothing_due(flown())
    live.typed("Pause")
    assert live.paused


@pytest.mark.parametrize("words", ["pause", "say again", "end session"])
def test_while_a_call_is_due_all_words_are_calls(flown: Callable[..., Any], words: str) -> None:
    flight = flown()
    flight.until_due()
    flight.step()
    live = flight.live
    assert not live.situation.accepts(["pause"])
    events = spoken(live, words)
    assert [type(event) for event in events if isinstance(event, TraineeSpoke | NotUnderstood)]
    assert live.session.ended is None
    assert not live.paused


def test_while_an_answer_is_owed_all_words_are_answers(flown: Callable[..., Any]) -> None:
    flight = flown()
    live = flight.live
    live.typed(flight.until_due())
    flight.until_due()
    flight.until(lambda: not live.muted)
    assert live.session.trainee.owed is not None
    assert any(isinstance(event, TraineeSpoke) for event in spoken(live, "end session"))
    assert live.session.ended is None


def test_with_the_callsign_the_tower_is_asked(flown: Callable[..., Any]) -> None:
    flight = flown()
    live = nothing_due(flight)
    (call,) = spoken(live, "sable two one say again")
    assert isinstance(call, TraineeSpoke)
    assert call.assessment.title == "Say again"
    replies: list[Event] = []
    flight.until(
        lambda: any(isinstance(event, TowerSpoke) for event in replies),
        lambda s: replies.extend(live.tick(s)),
    )
