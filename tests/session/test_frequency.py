"""One frequency: whose turn it is, the gaps between, who waits for whom, and two at once."""

from collections.abc import Callable

import pytest

from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.replies import message
from phraseology.words import tokens
from trainer.session.events import Blocked, Event, NotUnderstood, OtherSpoke, TowerSpoke, TraineeSpoke
from trainer.session.frequency import (
    ANSWER_GAP_S,
    BLOCKED,
    GAP_S,
    PLANNING_S,
    TOWER,
    TRAINEES_TURN_S,
    Frequency,
    Transmission,
)
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

SABLE, HERON, TOPAZ = "SABLE 21", "HERON 42", "TOPAZ 34"


def tower(to: str, ready_at: float = 0.0, at_once: bool = False) -> Transmission:
    return Transmission(TOWER, f"{to}, roger", ready_at, message("roger", to, {}), at_once=at_once)


def pilot(station: str, ready_at: float = 0.0) -> Transmission:
    return Transmission(station, f"{station}, initial", ready_at)


def first_on_air(frequency: Frequency, until: float = 20.0) -> tuple[float, Transmission] | None:
    """When, in steps of 0.05 s, and what goes on the air first."""
    for step in range(round(until / 0.05)):
        found = frequency.next(step * 0.05, lambda _: False)
        if found:
            return round(step * 0.05, 2), found
    return None


def test_the_tower_goes_before_pilots_who_have_waited_longer() -> None:
    frequency = Frequency()
    frequency.offer(pilot(HERON))
    frequency.offer(tower(SABLE, ready_at=PLANNING_S))
    assert first_on_air(frequency) == (PLANNING_S, tower(SABLE, ready_at=PLANNING_S))


def test_a_new_call_leaves_a_gap_and_an_answer_a_shorter_one() -> None:
    for owner, gap in ((pilot(HERON), GAP_S), (tower(SABLE), ANSWER_GAP_S)):
        frequency = Frequency()
        frequency.trainee_keys(SABLE)
        frequency.trainee_released(4.0, spoken=True)
        frequency.offer(owner)
        found = first_on_air(frequency)
        assert found is not None
        assert found[0] == pytest.approx(4.0 + gap, abs=0.051)


def begins_when_a_trainee_is_due(
    transmission: Transmission, must_answer: frozenset[str] = frozenset()
) -> float:
    """When it goes on the air, steps as above, after one that ended at 2 s; the trainee says nothing."""
    frequency = Frequency()
    frequency.lasts(0.0, 2.0)
    frequency.must_answer = must_answer
    frequency.offer(transmission)
    for step in range(400):
        frequency.trainee_is_due(step * 0.05, due=True)
        if frequency.next(step * 0.05, lambda _: False):
            return step * 0.05
    return float("inf")


def test_other_pilots_leave_a_turn_to_a_trainee_whose_call_is_due() -> None:
    assert begins_when_a_trainee_is_due(pilot(HERON)) == pytest.approx(2.0 + TRAINEES_TURN_S, abs=0.051)
    answer = begins_when_a_trainee_is_due(pilot(HERON), frozenset({HERON}))
    assert answer == pytest.approx(2.0 + GAP_S, abs=0.051)
    assert begins_when_a_trainee_is_due(tower(HERON)) == pytest.approx(2.0 + ANSWER_GAP_S, abs=0.051)


def test_a_call_that_must_wait_for_the_trainee_does_not_keep_him_waiting() -> None:
    frequency = Frequency()
    frequency.offer(pilot(HERON))
    assert not frequency.quiet
    frequency.trainee_is_due(1.0, due=True)
    assert frequency.quiet
    frequency.trainee_is_due(1.0, due=False)
    assert not frequency.quiet


def test_the_tower_answers_the_trainee_as_soon_as_one_who_planned_while_he_listened() -> None:
    frequency = Frequency()
    frequency.trainee_keys(SABLE)
    # Declared over at 5.0, when his voice had been silent for 0.4 s.
    frequency.trainee_released(4.6, spoken=True)
    assert frequency.tower_ready(5.0) == pytest.approx(4.8)
    frequency.trainee_released(5.0, spoken=False)
    assert frequency.tower_ready(5.0) == pytest.approx(5.0 + PLANNING_S)


def test_nobody_begins_while_the_trainee_speaks() -> None:
    frequency = Frequency()
    frequency.trainee_keys(SABLE)
    frequency.offer(pilot(HERON))
    frequency.offer(tower(HERON, at_once=True))
    assert first_on_air(frequency) is None


def test_the_tower_waits_for_a_read_back_before_the_next_aircraft_but_not_for_what_is_urgent() -> None:
    frequency = Frequency()
    frequency.must_answer = frequency.first_answer_due = {HERON}
    frequency.offer(tower(SABLE))
    frequency.offer(pilot(TOPAZ))
    assert first_on_air(frequency) is None
    frequency.offer(pilot(HERON, ready_at=3.0))
    assert first_on_air(frequency) == (3.0, pilot(HERON, ready_at=3.0))
    frequency = Frequency()
    frequency.must_answer = frequency.first_answer_due = {HERON}
    frequency.offer(tower(SABLE))
    urgent = tower(TOPAZ, at_once=True)
    frequency.offer(urgent)
    found = first_on_air(frequency)
    assert found is not None
    assert found[1] is urgent


def test_one_who_was_asked_twice_no_longer_keeps_the_tower_from_others() -> None:
    frequency = Frequency()
    frequency.must_answer = {HERON}
    frequency.offer(tower(SABLE))
    frequency.offer(pilot(TOPAZ))
    found = first_on_air(frequency)
    assert found is not None
    assert found[1].message is not None
    assert found[1].message.to == SABLE


def test_the_turn_is_left_to_the_one_who_must_answer() -> None:
    frequency = Frequency()
    frequency.offer(pilot(TOPAZ))
    frequency.reserve(HERON, 0.0)
    frequency.offer(pilot(HERON, ready_at=PLANNING_S))
    found = first_on_air(frequency)
    assert found is not None
    assert found[1].station == HERON


def test_who_keys_over_another_blocks_him() -> None:
    frequency = Frequency()
    frequency.offer(pilot(HERON))
    assert frequency.trainee_keys(SABLE) is None
    frequency.trainee_released(0.0, spoken=True)
    found = first_on_air(frequency)
    assert found is not None
    frequency.lasts(found[0], 3.0)
    assert frequency.trainee_keys(SABLE) == HERON
    frequency.trainee_released(found[0] + 1.0, spoken=True)
    assert frequency.ended(found[0] + 2.9) is None
    over = frequency.ended(found[0] + 3.0)
    assert over is not None
    assert over.blocked_by == SABLE


# -- in a session ---------------------------------------------------------------------------------


def spoken(words: str) -> Heard:
    return Heard(tuple(HeardWord(word) for word in tokens(words)), HeardBy.SITUATION)


def until(
    session: Session, there: Callable[[Event], bool], limit_s: float = 600.0
) -> tuple[Event, list[Event]]:
    """Let time go on until something has happened; that, and all that happened."""
    events: list[Event] = []
    while session.now < limit_s:
        new = session.advance(session.now + 0.1)
        events += new
        for event in new:
            if there(event):
                return event, events
    raise AssertionError(f"not in {limit_s} s, but {events}")


@pytest.fixture
def session(drill_plan: Callable[[str], SessionPlan]) -> Session:
    return Session(drill_plan("first_flight"), lambda station, words: 0.35 * len(words.split()) + 0.4)


def check_in(session: Session) -> str:
    """The model call, once it is due and the air is free."""
    while session.prompt is None or session.on_air:
        session.advance(session.now + 0.1)
    return session.prompt.model_call


def test_a_reply_begins_before_a_person_would_wonder(session: Session) -> None:
    call = check_in(session)
    session.trainee_keys()
    session.advance(session.now + 3.0)
    ended = session.now
    session.trainee_said(spoken(call), silent_s=0.35)
    reply, _ = until(session, lambda event: isinstance(event, TowerSpoke))
    assert reply.at - ended <= 0.15


def test_a_call_over_another_is_judged_so_and_neither_is_understood(session: Session) -> None:
    heron, _ = until(session, lambda event: isinstance(event, OtherSpoke))
    assert isinstance(heron, OtherSpoke)
    session.trainee_keys()
    session.advance(session.now + 1.5)
    (said,) = session.trainee_said(spoken("corbel tower sable two one radio check"))
    assert isinstance(said, TraineeSpoke)
    assert [
        (fault.element, fault.heard) for fault in said.assessment.faults if fault.element == "timing"
    ] == [("timing", f"over {heron.aircraft}")]
    blocked, events = until(session, lambda event: isinstance(event, Blocked))
    assert blocked.station == heron.aircraft  # type: ignore[attr-defined]
    assert not [event for event in events if isinstance(event, TowerSpoke)]
    # Nobody else is on the frequency who could say "blocked": the tower asks, and the pilot calls again.
    asks, _ = until(session, lambda event: isinstance(event, TowerSpoke))
    assert asks.reply == "say_again"  # type: ignore[attr-defined]
    again, _ = until(session, lambda event: isinstance(event, OtherSpoke))
    assert again.aircraft == heron.aircraft  # type: ignore[attr-defined]


def test_a_bystander_says_blocked_and_the_tower_says_its_message_again(session: Session) -> None:
    call = check_in(session)
    session.trainee_keys()
    session.advance(session.now + 3.0)
    session.trainee_said(spoken(call))
    message_to_own, _ = until(session, lambda event: isinstance(event, TowerSpoke) and event.to == SABLE)
    bystander = next(each for each in session.aircraft.values() if not each.is_trainee)
    bystander.contact = True
    session.trainee_keys()
    session.advance(session.now + 0.8)
    session.trainee_said(spoken("sable two one roger"))
    blocked, events = until(session, lambda event: isinstance(event, OtherSpoke))
    assert blocked.words == BLOCKED  # type: ignore[attr-defined]
    assert blocked.aircraft == bystander.callsign  # type: ignore[attr-defined]
    assert [event.station for event in events if isinstance(event, Blocked)] == [TOWER]
    again, _ = until(session, lambda event: isinstance(event, TowerSpoke))
    assert again.words == message_to_own.words  # type: ignore[attr-defined]
    assert session.trainee.owed is None  # nobody owes an answer to what was blocked


def test_who_began_in_the_same_moment_makes_way_once_and_is_next(session: Session) -> None:
    heron, _ = until(session, lambda event: isinstance(event, OtherSpoke))
    assert isinstance(heron, OtherSpoke)
    assert session.make_way()
    assert not session.make_way()  # nobody is on the air any more
    session.trainee_keys()
    made_way = session.advance(session.now + 3.0)
    assert [event.station for event in made_way if isinstance(event, Blocked)] == [heron.aircraft]
    assert not [event for event in made_way if isinstance(event, OtherSpoke | TowerSpoke)]
    session.trainee_withdraws()
    again, _ = until(session, lambda event: isinstance(event, OtherSpoke | TowerSpoke))
    assert isinstance(again, OtherSpoke)
    assert (again.aircraft, again.words) == (heron.aircraft, heron.words)
    assert not session.make_way()


def test_a_repetition_that_made_way_for_the_answer_is_not_said_any_more(session: Session) -> None:
    call = check_in(session)
    session.trainee_keys()
    session.trainee_said(spoken(call))
    first, _ = until(session, lambda event: isinstance(event, TowerSpoke) and event.to == SABLE)
    repeated, _ = until(session, lambda event: isinstance(event, TowerSpoke) and event.to == SABLE)
    assert isinstance(repeated, TowerSpoke)
    assert session.make_way()
    owed = session.trainee.owed
    assert owed is not None
    session.trainee_keys()
    session.trainee_said(spoken(owed.expected.model_call))
    for event in session.advance(session.now + 10.0):
        assert not (isinstance(event, TowerSpoke) and event.words in (first.words, repeated.words))  # type: ignore[attr-defined]


def test_what_is_mumbled_over_another_is_no_reason_to_ask(session: Session) -> None:
    until(session, lambda event: isinstance(event, OtherSpoke))
    session.trainee_keys()
    session.advance(session.now + 1.0)
    (nothing,) = session.trainee_said(Heard())
    assert isinstance(nothing, NotUnderstood)
    assert not [words for station, words in session.waiting_words() if station == TOWER]


def test_the_likely_replies_hold_the_one_that_comes_and_change_nothing(session: Session) -> None:
    found, foreseen = 0, 0
    for _ in range(9):
        call = check_in(session)
        session.trainee_keys()
        likely = session.likely_words()
        assert likely == session.likely_words()
        session.advance(session.now + 3.0)
        session.trainee_said(spoken(call), silent_s=0.35)
        reply = [words for station, words in session.waiting_words() if station == TOWER]
        found += len(reply)
        foreseen += len(set(reply) & {words for _, words in likely})
    # In the three seconds of a call others fly on: one reply may come out otherwise.
    assert found >= 4
    assert foreseen >= found - 1
