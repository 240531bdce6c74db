"""What the tower and the pilots do of the whole vocabulary: room is kept, sessions end, the same seed is the same."""

from dataclasses import replace

import pytest

from drills.check import load_field
from phraseology.elements import Kind
from phraseology.replies import REPLIES
from trainer.commands.simulate import Simulated, simulate
from trainer.pattern.profiles import PROFILES
from trainer.session.events import LegEntered, OtherSpoke, TowerSpoke
from trainer.session.notices import NEXT, Notice, of_the_day
from trainer.session.pilots import BY_THE_BOOK, Habits
from trainer.session.plan import SessionPlan
from trainer.traffic.demand import Visitor

RESTLESS = Habits(wrong=0.08, silent=0.03, blocked=0.02, traps=0.02, wishes=0.25, otherwise=0.1)


def restless(seed: int) -> SessionPlan:
    field, runway = (("corbel", "31"), ("wickstone", "26R"))[seed % 2]
    plan = SessionPlan.of_demand(load_field(field), runway, 14.0, 0.25, seed, ("calm", "320/15")[seed % 2])
    return replace(plan, habits=RESTLESS)


def one(
    notices: tuple[Notice, ...] = (), *, unavailable: str = "", habits: Habits = BY_THE_BOOK
) -> Simulated:
    """A jet trainer alone, inbound by QUARRY, for two approaches."""
    jet = PROFILES["jet trainer"]
    visitor = Visitor("HERON 42", jet, "inbound", "QUARRY", 1.0, ("touch_and_go", "full_stop"), 4500)
    plan = SessionPlan.of_demand(load_field("corbel"), "31", 4.0, 0.5, 1)
    shut = frozenset({unavailable} if unavailable else ())
    return simulate(
        replace(plan, visitors=(visitor,), habits=habits, notices=notices, unavailable=shut, seed=2)
    )


def replies(found: Simulated) -> list[str]:
    return [event.reply for event in found.events if isinstance(event, TowerSpoke)]


def legs(found: Simulated) -> list[str]:
    return [event.leg for event in found.events if isinstance(event, LegEntered)]


@pytest.mark.parametrize("seed", range(200, 212))
def test_pilots_who_change_their_minds_are_kept_apart(seed: int) -> None:
    found = simulate(restless(seed))
    nearest = found.separation.nearest()
    assert nearest is None or nearest.nm >= found.plan.field.minimum_separation_nm, nearest
    assert all(event.reasons for event in found.events if isinstance(event, TowerSpoke))


def test_their_sessions_are_the_same_bytes_from_the_same_seed() -> None:
    assert simulate(restless(206)).log() == simulate(restless(206)).log()


def test_a_few_of_their_sessions_use_much_of_the_vocabulary() -> None:
    """Eight sessions of a quarter of an hour; 31 kinds when this was written."""
    said = {reply for seed in range(220, 228) for reply in replies(simulate(restless(seed)))}
    assert said <= set(REPLIES)
    assert len(said) > 25


def test_a_point_that_is_not_available_is_not_flown_to() -> None:
    found = one(unavailable="QUARRY")
    sent = next(e for e in found.events if isinstance(e, TowerSpoke) and e.reply == "entry_not_available")
    assert sent.words.startswith("heron four two, quarry not available, report ")
    words = [event.words for event in found.events if isinstance(event, OtherSpoke)]
    assert "heron four two, quarry" not in words
    assert legs(found)[-1] == "clear_of_runway"


@pytest.mark.parametrize(
    ("reply", "on", "fields", "flown"),
    [
        ("three_sixty", "closed_downwind", ((Kind.SIDE, "right"),), "three_sixty"),
        ("break_in", "straight_through", ((Kind.BREAK, "in 5"),), "break_turn"),
        ("break_at_my_call", "initial", (), "break_turn"),
        (
            "emergency_in_pattern",
            "initial",
            ((Kind.ACTION, "breaking_out"), (Kind.REPORT, "SILO")),
            "breakout",
        ),
    ],
)
def test_what_a_script_has_said_is_flown(
    reply: str, on: str, fields: tuple[tuple[Kind, str], ...], flown: str
) -> None:
    before = (Notice(1.0, "straight_through", ((Kind.REPORT, "outside_downwind"),), NEXT, on="initial"),)
    notices = (*(before if on == "straight_through" else ()), Notice(1.0, reply, fields, NEXT, on=on))
    found = one(notices)
    at = next(event.at for event in found.events if isinstance(event, TowerSpoke) and event.reply == reply)
    assert flown in [event.leg for event in found.events if isinstance(event, LegEntered) and event.at > at]


def test_an_announcement_to_all_is_answered_by_nobody_and_full_stops_only_is_kept_to() -> None:
    found = one((Notice(30.0, "full_stops_only"),))
    sent = next(e for e in found.events if isinstance(e, TowerSpoke) and e.reply == "full_stops_only")
    assert (sent.to, sent.words) == ("ALL", "all aircraft, full stops only")
    assert "departure" not in legs(found)


def test_the_days_altimeter_is_the_one_that_is_given_from_then_on() -> None:
    day = next(d for seed in range(50) for d in [of_the_day(seed, 3.0, 0.0, "2992")] if len(d) > 1)
    settings = [notice.altimeter for notice in day if notice.altimeter]
    assert all(setting and 2980 < int(setting) < 3005 for setting in settings)
    found = one((Notice(1.0, "altimeter", altimeter="2987"),))
    words = [event.words for event in found.events if isinstance(event, TowerSpoke)]
    assert "all aircraft, altimeter two niner eight seven" in words
