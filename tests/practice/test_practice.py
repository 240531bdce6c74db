"""What is chosen to be practised, why, and that the drill made of it has it come up."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import fsrs
import pytest

from drills.check import load_field
from drills.replies import REPLIES, TAKES
from tests.logbook.flown import fly_into
from trainer.cli import main
from trainer.logbook.store import Logbook
from trainer.practice.building import MINUTES, build, flown_by_the_book
from trainer.practice.choosing import Chosen, choose, fitting
from trainer.practice.forcible import FORCIBLE
from trainer.practice.memory import Item, Review, history, memories

NOW = datetime(2026, 6, 1, tzinfo=UTC)
ITEM = Item("request_closed", "closed_denied_breakout", "report")


def reviews(*how: tuple[float, int], item: Item = ITEM) -> list[Review]:
    """Days before now, and the rating."""
    return [Review(item, NOW - timedelta(days=days), rating) for days, rating in how]


def test_the_forgetting_is_that_of_the_fsrs_package() -> None:
    (memory,) = memories(reviews((20, 3), (10, 3)), NOW)
    scheduling = fsrs.Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card = fsrs.Card(card_id=1)
    for days in (20, 10):
        card, _ = scheduling.review_card(card, fsrs.Rating.Good, NOW - timedelta(days=days))
    assert memory.recall == scheduling.get_card_retrievability(card, NOW)
    assert memory.due == card.due


def test_what_is_right_again_and_again_is_due_later_and_what_fails_is_due_soon() -> None:
    (good,) = memories(reviews((30, 3), (20, 3), (10, 3)), NOW)
    (bad,) = memories(reviews((30, 3), (20, 3), (10, 1)), NOW)
    assert good.due > bad.due
    assert good.recall > bad.recall
    assert (bad.failed, bad.tries, bad.failed_last) == (1, 3, True)


def test_a_clock_that_was_set_back_does_no_harm() -> None:
    (memory,) = memories(reviews((-5, 3), (10, 3)), NOW)
    assert 0.0 < memory.recall <= 1.0


def test_the_weak_goes_before_the_due_and_that_before_the_new_and_each_has_its_reason() -> None:
    due = Item("request_closed", "closed_denied_climb_out", "altitude")
    fresh = Item("gear_report", "go_around", "action")
    found = memories(
        reviews((20, 1), (10, 1)) + reviews((60, 3), (55, 3), item=due) + reviews((0.1, 3), item=fresh), NOW
    )
    chosen = choose(found, NOW)
    names = [(each.call, each.reply) for each in chosen]
    assert names[:2] == [
        ("request_closed", "closed_denied_breakout"),
        ("request_closed", "closed_denied_climb_out"),
    ]
    assert ("gear_report", "go_around") not in names, "known and fresh"
    weak, due_one, *new = chosen
    assert weak.reasons[0].startswith("report: due")
    assert weak.reasons[0].endswith("wrong 2 of 2, the last too")
    assert due_one.reasons[0].startswith("altitude: due for ")
    assert {each.reasons for each in new} == {("never met so far",)}


def test_every_reply_that_may_be_forced_is_one_of_the_drills_and_needs_no_other_aircraft() -> None:
    for call, replies in FORCIBLE.items():
        for reply in replies:
            assert reply in REPLIES[call]  # type: ignore[index]
            assert not TAKES.get(reply, frozenset()) & {"traffic", "behind"}


def test_one_session_has_one_check_in_and_initial_again_only_after_a_way_back_to_it() -> None:
    wanted = [
        Chosen(call, reply, 1.0, ())
        for call in ("check_in", "initial")
        for reply in FORCIBLE[call]
        if reply not in ("straight_through", "breakout")
    ]
    assert [each.call for each in fitting(wanted, 6)] == ["check_in", "initial"]
    way_back = Chosen("request_closed", "closed_denied_breakout", 1.0, ())
    assert [each.call for each in fitting([way_back, *wanted], 6)].count("initial") == 2


@pytest.mark.parametrize("field_name", ["corbel", "wickstone"])
def test_the_drill_has_what_was_chosen_come_up_in_about_ten_minutes(field_name: str) -> None:
    field = load_field(field_name)
    practice = build(choose([], NOW), field, field_name, "SABLE 21")
    flown = flown_by_the_book(practice.drill, field)
    assert practice.chosen
    assert {(each.call, each.reply) for each in practice.chosen if each.reply} <= flown.came_up
    assert flown.reason == "full stop"
    assert 3.0 < practice.minutes <= MINUTES


def test_the_logbook_leads_to_the_weakness_that_was_built_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Logbook.open(tmp_path) as logbook:
        fly_into(logbook, wrong=("answer_to_closed_denied_breakout",))
        found = memories(history(logbook), NOW)
    assert choose(found, NOW)[0].reply == "closed_denied_breakout"
    assert {memory.item.element for memory in found} >= {"call", "callsign", "report"}
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path))
    with pytest.raises(SystemExit) as ended:
        main(["practise", "--show"])
    said = capsys.readouterr().out
    assert ended.value.code == 0
    assert "Closed denied, breakout" in said
    assert "wrong 1 of 1, the last too" in said
