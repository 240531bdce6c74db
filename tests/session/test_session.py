"""The session obeys what was cleared and said: whole drills by typed line."""

import json

import pytest

from phraseology.heard import Heard, HeardBy, HeardWord
from trainer.pattern.leg import Leg
from trainer.session.events import CallDue, CallMissed, LegEntered, SessionEnded, TowerSpoke, TraineeSpoke
from trainer.session.plan import SessionPlan

FIRST = "first_flight"


def tower_replies(flown) -> list[str]:
    own = flown.session.plan.callsign
    return [event.reply for event in flown.of(TowerSpoke) if event.to in (own, "")]


def own_legs(flown) -> list[str]:
    return [event.leg for event in flown.of(LegEntered) if event.aircraft == flown.session.plan.callsign]


def test_a_trainee_who_says_the_model_calls_flies_a_drill_to_its_full_stop(trainee):
    flown = trainee(FIRST)
    flown.fly()
    (ended,) = flown.of(SessionEnded)
    assert ended.reason == "full stop"
    assert ended.score == 100
    assert ended.accepted == ended.calls > 8
    assert not flown.of(CallMissed)


def test_the_first_drill_goes_round_as_briefed(trainee):
    flown = trainee(FIRST)
    flown.fly()
    replies = [reply for reply in tower_replies(flown) if not reply.startswith("cleared")]
    assert replies[0] == "overhead_approved"
    assert [reply for reply in replies if reply.startswith("closed")] == [
        "closed_approved",
        "closed_denied_breakout",
    ]
    legs = own_legs(flown)
    assert legs.index("closed_downwind") < legs.index("breakout") < legs.index("entry_point")
    assert legs[-1] == "clear_of_runway"
    after_breakout = legs[legs.index("breakout") :]
    assert after_breakout[:5] == [
        "breakout",
        "entry_point",
        "ninety_to_initial",
        "forty_five_to_initial",
        "initial",
    ]


def test_three_denials_are_flown_three_ways(trainee):
    flown = trainee("denied_three_ways")
    flown.fly()
    legs = own_legs(flown)
    assert "breakout" in legs
    assert "climb_out" in legs
    assert "outside_downwind" in legs
    assert "closed_downwind" not in legs


def test_the_same_plan_and_words_give_the_same_events(trainee):
    accounts = []
    for _ in range(2):
        flown = trainee(FIRST)
        flown.fly()
        accounts.append(json.dumps([event.as_json() for event in flown.events]))
    assert accounts[0] == accounts[1]


def test_silence_on_initial_is_no_break_approval(trainee):
    flown = trainee(FIRST)
    flown.fly(lambda prompt, times: None if prompt.name == "initial" else prompt.model_call, until=480)
    legs = own_legs(flown)
    assert "straight_through" in legs
    assert "break_turn" not in legs
    assert [missed.call for missed in flown.of(CallMissed)] == ["initial"]


def test_silence_at_the_perch_brings_check_wheels_down_and_then_no_landing(trainee):
    flown = trainee(FIRST)
    silent = ("gear_report", "answer_to_check_wheels_down")
    flown.fly(lambda prompt, times: None if prompt.name in silent else prompt.model_call, until=700)
    assert "check_wheels_down" in tower_replies(flown)
    assert "going_around" in own_legs(flown)
    assert "runway" not in own_legs(flown)


def test_a_gear_report_given_when_asked_is_cleared(trainee):
    flown = trainee(FIRST)
    flown.fly(lambda prompt, times: None if prompt.name == "gear_report" else prompt.model_call, until=700)
    replies = tower_replies(flown)
    assert replies.index("check_wheels_down") < replies.index("cleared")
    assert "runway" in own_legs(flown)


def test_a_gear_report_before_the_perch_is_not_due_again(trainee):
    flown = trainee(FIRST)
    session, early = flown.session, False
    while session.now < 700 and "runway" not in own_legs(flown):
        flown.events += session.advance(session.now + 0.5)
        abeam = session.trainee.flight.leg is Leg.INSIDE_DOWNWIND
        opened = [w for w in session.trainee.open_windows() if w.opens_at_s <= session.now]
        before_its_time = abeam and not early and "gear_report" in [w.call for w in opened]
        prompt = session.trainee.expect("gear_report") if before_its_time else session.prompt
        if prompt is not None and not session.on_air:
            early = early or before_its_time
            session.trainee_keys()
            flown.events += session.advance(session.now + 3.0)
            flown.events += session.trainee_said(Heard.typed(prompt.model_call))
    assert early
    assert "runway" in own_legs(flown)
    assert tower_replies(flown).count("cleared") == 1
    assert "gear_report" not in [event.call for event in flown.of(CallDue)]


def test_an_unread_denial_is_still_a_denial(trainee):
    flown = trainee(FIRST)
    silent = "answer_to_closed_denied_breakout"
    flown.fly(lambda prompt, times: None if prompt.name == silent else prompt.model_call, until=1100)
    assert "breakout" in own_legs(flown)
    denials = [event for event in flown.of(TowerSpoke) if event.reply == "closed_denied_breakout"]
    own = [event for event in denials if event.to == "SABLE 21"]
    assert len(own) == 3  # said, and repeated twice
    assert [missed.call for missed in flown.of(CallMissed)] == [silent]


def test_a_wrong_read_back_is_answered_negative_and_said_again(trainee):
    flown = trainee(FIRST)

    def wrong_point_first(prompt, times):
        if prompt.name == "answer_to_closed_denied_breakout" and times == 0:
            return "sable two one breaking out report weir"
        return prompt.model_call

    flown.fly(wrong_point_first, until=1100)
    denials = [
        event.words
        for event in flown.of(TowerSpoke)
        if event.to == "SABLE 21" and "unable closed" in event.words
    ]
    assert denials == [
        "sable two one, unable closed, breakout, report quarry",
        "sable two one, negative, unable closed, breakout, report quarry",
    ]


def test_a_wrong_figure_in_the_callsign_is_never_acted_on(trainee):
    flown = trainee(FIRST)

    def another_aircraft(prompt, times):
        if prompt.name == "gear_report" and times == 0:
            return prompt.model_call.replace("two one", "two two")
        return prompt.model_call

    flown.fly(another_aircraft, until=560)
    replies = tower_replies(flown)
    assert "say_callsign" in replies
    assert replies.index("say_callsign") < replies.index("cleared")


def test_a_doubtful_callsign_brings_say_again_and_costs_nothing(trainee):
    flown = trainee(FIRST)

    def mumbled(prompt, times):
        if prompt.name == "initial" and times == 0:
            words = [HeardWord(word) for word in ["three", "mile", "initial"]]
            doubtful = [HeardWord(word, 0.4) for word in ["table", "two", "one"]]
            return Heard((*doubtful, *words), HeardBy.SITUATION)
        return prompt.model_call

    flown.fly(mumbled, until=480)
    first, second = [event for event in flown.of(TraineeSpoke) if event.assessment.call == "initial"]
    assert first.assessment.unsure
    assert first.assessment.score == 100
    assert second.assessment.accepted
    assert "say_again" in tower_replies(flown)


def test_nothing_understood_brings_say_again_and_no_score(trainee):
    flown = trainee(FIRST)
    flown.fly(
        lambda prompt, times: Heard() if prompt.name == "initial" and times == 0 else prompt.model_call,
        until=480,
    )
    flown.session.end("test")
    assert "say_again" in tower_replies(flown)
    assert flown.session.mean_score == 100


def test_going_around_is_flown_when_it_is_said(trainee):
    flown = trainee(FIRST)

    def balked(prompt, times):
        if prompt.name == "answer_to_cleared" and times == 0:
            return "sable two one going around"
        return prompt.model_call

    flown.fly(balked, until=640)
    assert "going_around" in own_legs(flown)
    assert "runway" not in own_legs(flown)


def test_a_call_out_of_its_place_is_marked_and_not_granted(trainee):
    flown = trainee(FIRST)

    def asks_too_early(prompt, times):
        return (
            "sable two one request closed" if prompt.name == "initial" and times == 0 else prompt.model_call
        )

    flown.fly(asks_too_early, until=480)
    (early,) = [
        event.assessment for event in flown.of(TraineeSpoke) if event.assessment.call == "request_closed"
    ]
    assert [judged.element for judged in early.faults] == ["place"]
    assert "closed_approved" not in tower_replies(flown)


def test_say_again_makes_the_tower_repeat(trainee):
    flown = trainee(FIRST)

    def not_got_it(prompt, times):
        if prompt.name == "answer_to_closed_denied_breakout" and times == 0:
            return "sable two one say again"
        return prompt.model_call

    flown.fly(not_got_it, until=1100)
    assert tower_replies(flown).count("closed_denied_breakout") == 2
    assert not flown.of(CallMissed)


def test_every_event_is_plain_json(trainee):
    flown = trainee(FIRST)
    flown.fly(until=600)
    for event in flown.events:
        assert json.loads(json.dumps(event.as_json()))["event"] == type(event).__name__


def test_unable_gives_the_approval_back_and_the_tower_asks_for_intentions(trainee):
    flown = trainee(FIRST)

    def will_not(prompt, times):
        if prompt.name == "answer_to_closed_approved":
            return "sable two one unable"
        if prompt.name == "answer_to_say_intentions":
            return "sable two one full stop"
        return prompt.model_call

    flown.fly(will_not, until=760)
    assert "say_intentions" in tower_replies(flown)


def test_unable_to_a_break_approval_is_flown_straight_through(trainee):
    flown = trainee(FIRST)
    flown.fly(
        lambda prompt, times: "sable two one unable" if "break" in prompt.name else prompt.model_call,
        until=470,
    )
    assert "straight_through" in own_legs(flown)
    assert "break_turn" not in own_legs(flown)


def test_words_that_give_no_call_away_are_asked_again_and_not_taken_for_the_call_that_is_due(trainee):
    flown = trainee(FIRST)
    flown.fly(
        lambda prompt, times: (
            "sable two two runway three one" if prompt.name == "request_closed" else prompt.model_call
        ),
        until=700,
    )
    assert "say_again" in tower_replies(flown)
    assert "closed_approved" not in tower_replies(flown)


def test_in_free_flight_the_trainee_chooses_how_to_land(drill_plan, typing_trainee):
    field = drill_plan(FIRST).field
    flown = typing_trainee(SessionPlan.free_flight(field, "31", "SABLE 21", seed=5))

    def lands(prompt, times):
        return "sable two one gear down full stop" if prompt.name == "gear_report" else prompt.model_call

    flown.fly(lands)
    (ended,) = flown.of(SessionEnded)
    assert (ended.reason, ended.score) == ("full stop", 100)


def to_a_read_back_that_was_correct(flown):
    """To the end of the tower's words that need no answer."""

    def wrong_point_first(prompt, times):
        wrong = prompt.name == "answer_to_closed_denied_breakout" and times == 0
        return "sable two one breaking out report weir" if wrong else prompt.model_call

    while "readback_correct" not in tower_replies(flown) or flown.session.on_air:
        flown.fly(wrong_point_first, until=flown.session.now + 0.5)
    return flown.session


@pytest.mark.parametrize(
    ("said", "accepted"),
    [
        ("sable two one roger", True),
        ("sable two one", True),
        ("roger", False),
        ("sable two two roger", False),
    ],
)
def test_an_answer_that_is_not_due_is_one_all_the_same_and_brings_no_say_again(trainee, said, accepted):
    session = to_a_read_back_that_was_correct(trainee(FIRST))
    session.trainee_keys()
    session.advance(session.now + 1.5)
    (event,) = session.trainee_said(Heard.typed(said))
    assert event.assessment.call == "answer_to_readback_correct"
    assert event.assessment.accepted is accepted
    assert not [words for station, words in session.waiting_words() if "say again" in words]


def test_long_after_the_towers_words_it_is_none(trainee):
    session = to_a_read_back_that_was_correct(trainee(FIRST))
    session.advance(session.now + 8.5)
    (event,) = session.trainee_said(Heard.typed("sable two one roger"))
    assert event.assessment.call != "answer_to_readback_correct"
