"""The progress counts what the events say."""

from collections import Counter
from pathlib import Path

import pytest

from trainer.logbook.progress import progress, trend
from trainer.logbook.store import Logbook


def test_an_empty_logbook(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook:
        found = progress(logbook)
    assert (found.calls, found.streak, found.longest_streak, found.trend, found.by_call) == (
        0,
        0,
        0,
        None,
        (),
    )


def test_totals_and_streak_are_those_of_the_events(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        found = progress(logbook)
        events = [event for number in (1, 2) for event in logbook.events(number)]
    spoken = [event for event in events if event["event"] == "TraineeSpoke"]
    missed = [event for event in events if event["event"] == "CallMissed"]
    assert (found.calls, found.missed) == (len(spoken) + len(missed), len(missed))
    assert found.accepted == sum(event["accepted"] for event in spoken)
    scores = [event["score"] for event in spoken] + [0] * len(missed)
    assert found.score == pytest.approx(sum(scores) / len(scores))
    last_critical = max(place for place, event in enumerate(spoken) if event["critical"])
    assert found.streak == len(spoken) - 1 - last_critical > 0
    assert found.longest_streak >= found.streak
    assert found.trend is not None
    assert found.trend > 0.0


def test_the_weakness_that_was_built_in_comes_first(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        found = progress(logbook)
        judged = Counter(
            (each["element"], each["verdict"])
            for number in (1, 2)
            for event in logbook.events(number)
            if event["event"] == "TraineeSpoke" and event["call"] == "gear_report"
            for each in event["elements"]
        )
    assert (found.by_call[0].call, found.by_call[0].reply) == ("gear_report", "")
    weakest = found.by_element[0]
    assert (weakest.call, weakest.element) == ("gear_report", "callsign")
    assert weakest.right == judged["callsign", "right"]
    assert weakest.critical == judged["callsign", "wrong"] > 0
    assert weakest.sessions == (0.0, 1.0)
    assert weakest.last_wrong.startswith("2026-01-31")


def test_answers_stand_with_the_call_whose_reply_they_answer(flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        kinds = {(each.call, each.reply) for each in progress(logbook).by_call}
    assert ("request_closed", "closed_denied_breakout") in kinds
    assert ("check_in", "overhead_approved") in kinds
    assert not [call for call, _ in kinds if call.startswith("answer_to")]


@pytest.mark.parametrize(
    ("scores", "found"),
    [
        ([], None),
        ([50], None),
        ([50, 70], 20),
        ([50, 99, 70], -29),
        ([0] * 5 + [100] * 5, 100),
        ([9] * 30, 0),
    ],
)
def test_trend(scores: list[float], found: float | None) -> None:
    assert trend(scores) == found
