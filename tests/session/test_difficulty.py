"""How hard it is: one number, its ingredients, and a free flight that follows the trainee's calls."""

import re
from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.check import load_field
from phraseology.assess import assess
from phraseology.elements import Kind
from phraseology.example import example_message
from phraseology.expected import Expected
from phraseology.heard import Heard
from phraseology.replies import REPLIES, message, say_message
from phraseology.standards import standard
from trainer.ears.pronouncing import say_word
from trainer.session.difficulty import (
    CLEAN_CALLS,
    EASIEST,
    HARDEST,
    LEVELS,
    STEP,
    Adapting,
    Ingredients,
    choices_for,
    difficulty,
    ingredients,
    level_of,
)
from trainer.session.events import Arrived, DifficultyChanged, OtherSpoke, SessionEnded, TowerSpoke
from trainer.session.plan import SessionPlan
from trainer.tower.items import with_items
from trainer.tower.picture import Picture

NAMES = [field.name for field in fields(Ingredients)]
CORBEL = load_field("corbel")


def between(name: str) -> st.SearchStrategy[float]:
    return st.floats(getattr(EASIEST, name), getattr(HARDEST, name))


MADE = st.builds(Ingredients, **{name: between(name) for name in NAMES})


@given(MADE, st.sampled_from(NAMES), st.floats(0.001, 1.0))
def test_more_of_any_ingredient_is_harder(found: Ingredients, name: str, more: float) -> None:
    """Of items Prinzo 2006, of the rate Doc 9432 and Nitta et al.; the rest is our own choice."""
    span = getattr(HARDEST, name) - getattr(EASIEST, name)
    harder = replace(found, **{name: getattr(found, name) + more * span})
    if getattr(harder, name) <= getattr(HARDEST, name):
        assert difficulty(harder) > difficulty(found)
    else:
        assert difficulty(harder) >= difficulty(found)


@given(st.floats(0.0, 100.0))
def test_the_ingredients_of_a_number_make_that_number(level: float) -> None:
    assert difficulty(ingredients(level)) == pytest.approx(level, abs=1e-9)


def test_the_towers_rate_runs_from_the_standard_to_a_busy_controllers() -> None:
    """Doc 9432: 100 words a minute. Nitta et al.: a median of 6.1 syllables a second. Syllables are counted
    here as the vowels of the CMU dictionary's pronunciations, in every reply of the example flight."""
    std = standard("us_military_tower")
    texts = [
        say_message(example_message(name, std), std) for name in REPLIES if name not in std.without_replies
    ]
    words = [word for text in texts for word in re.findall(r"[a-z']+", text)]
    syllables = sum(phone[0] in "AEIOU" for word in words for phone in say_word(word)[0])
    rate = HARDEST.words_a_minute * syllables / len(words) / 60.0
    assert rate == pytest.approx(6.1, rel=0.03)
    assert EASIEST.words_a_minute == 100.0


@pytest.mark.parametrize(
    ("text", "level"), [("beginner", 0), ("Check-Ride", 100), ("check_ride", 100), ("42.5", 42.5)]
)
def test_a_level_is_a_name_or_a_number(text: str, level: float) -> None:
    assert level_of(text) == level


@pytest.mark.parametrize("text", ["", "begginer", "101", "-1", "nan", "inf"])
def test_what_is_no_level(text: str) -> None:
    assert level_of(text) is None
    assert all(name in choices_for(text) for name in LEVELS)


def judged(trainee, words: str | None = None):
    expected = trainee.session.trainee.expect("initial")
    return assess(expected, Heard.typed(words or expected.model_call))


def test_clean_calls_make_it_harder_and_a_critical_one_easier(typing_trainee) -> None:
    trainee = typing_trainee(SessionPlan.free_flight(CORBEL, "31", "SABLE 21", seed=1))
    clean, critical = judged(trainee), judged(trainee, "sable two two three mile initial")
    adapting = Adapting(50.0)
    assert [adapting.after(clean) is not None for _ in range(CLEAN_CALLS)] == [False] * (CLEAN_CALLS - 1) + [
        True
    ]
    assert adapting.level == 50.0 + STEP
    adapting.after(clean)
    assert "callsign" in (adapting.after(critical) or "")
    assert adapting.level == 50.0
    assert [adapting.after(clean) for _ in range(CLEAN_CALLS - 1)] == [None] * (CLEAN_CALLS - 1)
    assert adapting.after_missed("gear_report") == "missed: gear report"
    assert Adapting(0.0).after(critical) is None, "it becomes no easier than the easiest"


# -- a free flight -------------------------------------------------------------------------------------


class Flown:
    """A free flight of three approaches by the book; `level` stays where it is unless `adapts`."""

    def __init__(
        self, typing_trainee, seed: int, level: float, *, adapts: bool = False, until: float = 4000.0
    ) -> None:
        self.trainee = typing_trainee(SessionPlan.free_flight(CORBEL, "31", "SABLE 21", seed, level))
        if not adapts:
            self.trainee.session._adapting.after = lambda assessment: None
        self.events = self.trainee.fly(self.says, until)

    def says(self, prompt: Expected, times: int) -> str:
        if prompt.name not in ("gear_report", "final"):
            return prompt.model_call
        lands = "full stop" if self.trainee.session.trainee.approach >= 2 else "touch and go"
        return f"{prompt.model_call.removesuffix(', touch and go')} {lands}"

    def replies(self) -> list[TowerSpoke]:
        return [event for event in self.trainee.of(TowerSpoke) if event.to == "SABLE 21"]


@pytest.mark.parametrize(("level", "seed"), [(0.0, 1), (50.0, 3), (100.0, 1), (100.0, 2)])
def test_at_any_level_the_pattern_can_be_flown_and_others_talk(
    typing_trainee, level: float, seed: int
) -> None:
    flown = Flown(typing_trainee, seed, level)
    (ended,) = flown.trainee.of(SessionEnded)
    assert ended.reason == "full stop"
    assert ended.score > 90
    assert len(flown.trainee.of(Arrived)) >= 2
    assert len(flown.trainee.of(OtherSpoke)) > 10


def test_the_same_seed_and_calls_give_the_same_flight_and_another_seed_another(typing_trainee) -> None:
    first, again, other = (Flown(typing_trainee, seed, 60.0, adapts=True, until=600.0) for seed in (7, 7, 8))
    assert first.events == again.events
    assert first.events != other.events


def test_clean_calls_in_a_flight_raise_its_level_and_more_comes(typing_trainee) -> None:
    flown = Flown(typing_trainee, 5, 25.0, adapts=True)
    changes = flown.trainee.of(DifficultyChanged)
    levels = [change.level for change in changes]
    assert levels == [25.0 + STEP * (i + 1) for i in range(len(levels))]
    assert len(levels) >= 2
    session = flown.trainee.session
    assert session.level == levels[-1]
    assert session._traps.rate == ingredients(levels[-1]).traps > ingredients(25.0).traps


@pytest.mark.parametrize("level", [0.0, 50.0, 100.0])
def test_as_many_come_as_the_level_says(level: float) -> None:
    """40 hours; the first two of each come at any level. Four standard deviations of a Poisson count."""
    plans = [SessionPlan.free_flight(CORBEL, "31", "SABLE 21", seed, level) for seed in range(40)]
    come = sum(visitor.level <= level for plan in plans for visitor in plan.visitors[2:])
    of_all = sum(len(plan.visitors[2:]) for plan in plans)
    expected = of_all * ingredients(level).per_hour / HARDEST.per_hour
    assert abs(come - expected) <= 4.0 * expected**0.5
    assert all(visitor.callsign != "SABLE 21" for plan in plans for visitor in plan.visitors)


def test_through_traffic_keeps_closed_and_the_reason_is_true(typing_trainee, monkeypatch) -> None:
    """With every draw for it, and with none; the others of the flights are the same."""
    kept = {}
    for denied in (0.0, 1.0):
        monkeypatch.setattr(
            "trainer.session.session.ingredients",
            lambda level, d=denied: replace(ingredients(level), denied=d),
        )
        flights = [Flown(typing_trainee, seed, 40.0) for seed in (3, 5)]
        closed = [reply for flown in flights for reply in flown.replies() if reply.reply.startswith("closed")]
        kept[denied] = sum(reply.reply != "closed_approved" for reply in closed) / len(closed)
        for flown in flights:
            there = {event.aircraft for event in flown.trainee.of(Arrived)}
            for reply in flown.replies():
                if reply.reply.startswith("closed_denied") and "limit" not in reply.reasons[0]:
                    assert any(name in reply.reasons[0] for name in there), reply
    assert kept[1.0] > kept[0.0]


def test_a_message_grows_with_the_level_and_keeps_what_decides() -> None:
    picture = Picture(0.0, CORBEL, "31", "310/8", "2992", {})
    told = message("overhead_approved", "SABLE 21", {Kind.RUNWAY: "31", Kind.REPORT: "initial 3"})
    sizes = [len(with_items(told, items, picture).elements) for items in range(1, 8)]
    assert sizes == [3, 3, 3, 4, 5, 6, 6]
    fullest = with_items(told, 6, picture)
    assert fullest.value(Kind.ALTITUDE) == "2700"
    assert fullest.value(Kind.ALTIMETER) == "2992"
    fields = {Kind.RUNWAY: "31", Kind.WIND: "310/8", Kind.CLEARANCE: "touch_and_go"}
    cleared = message("cleared", "SABLE 21", fields)
    assert [kind for kind, _ in with_items(cleared, 2, picture).elements] == [Kind.RUNWAY, Kind.CLEARANCE]
    denied = message("closed_denied_breakout", "SABLE 21", {Kind.REPORT: "QUARRY"})
    assert {with_items(denied, items, picture) for items in range(1, 8)} == {denied}
