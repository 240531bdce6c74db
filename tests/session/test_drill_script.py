"""What a drill's script can do: branches, traps, silence, light signals, demands, and what the seed draws."""

import math

import pytest

from drills.check import load_drill, load_field
from drills.steps import Condition
from phraseology.assess import assess
from phraseology.elements import Kind
from phraseology.standards import standard
from trainer.rehearsal import Erring, rehearse
from trainer.session.drawn import hundredths
from trainer.session.events import Happened, LegEntered, LightSignal, OtherSpoke, TowerSpoke, TraineeSpoke
from trainer.session.grading import Grading, Marks
from trainer.session.plan import SessionPlan
from trainer.tower.conduct import Conduct
from trainer.tower.picture import pressure_of


def flown(typing_trainee, name, saying=None, until=4000.0, **changes):
    drill = load_drill(name).model_copy(update=changes)
    trainee = typing_trainee(SessionPlan.of_drill(drill, load_field(drill.field)))
    trainee.fly(*([saying] if saying else []), until=until)
    return trainee


def towers(trainee, *, to_him: bool = True):
    own = trainee.session.plan.callsign
    return [event for event in trainee.of(TowerSpoke) if not to_him or event.to == own]


# -- branches ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("when", "forced"),
    [
        (Condition(call="initial", was="missed", occurrence=1), 0),
        (Condition(call="gear_report", was="wrong"), 1),
        (Condition(call="read_back", was="wrong", occurrence=2), 2),
        (Condition(call="check_in", was="right"), 3),
    ],
)
def test_a_branch_is_taken_by_what_the_trainee_did(when: Condition, forced: int) -> None:
    drill = load_drill("your_choice")
    came_up = [index for _, index in rehearse(drill, load_field("corbel"), saying=Erring(when)).forced]
    assert forced in came_up
    others = {0, 1, 2} - {forced}
    assert not others & set(came_up)


def test_a_condition_looks_at_the_last_call_or_at_the_one_that_is_named() -> None:
    conduct = Conduct()
    wrong = Condition(call="initial", was="wrong")
    assert not conduct.holds(wrong)
    assert conduct.holds(None)
    conduct.keep("initial", "wrong")
    assert conduct.holds(wrong)
    conduct.keep("initial", "right")
    assert not conduct.holds(wrong)
    assert conduct.holds(Condition(call="initial", was="wrong", occurrence=1))
    assert not conduct.holds(Condition(call="initial", was="wrong", occurrence=3))
    conduct.keep("answer_to_cleared", "missed")
    assert conduct.holds(Condition(call="read_back", was="missed"))


# -- traps, silence, blocked ---------------------------------------------------------------------------


def test_an_approval_for_another_is_not_accepted_and_it_is_critical_to_do_so(typing_trainee) -> None:
    def takes_it(prompt, times):
        if prompt.name == "initial" and times == 1:
            return "sable two one break approved"
        return prompt.model_call

    trainee = flown(typing_trainee, "not_for_you", takes_it, until=420)
    trap = next(event for event in trainee.of(TowerSpoke) if event.to == "SABLE 12")
    assert trap.words == "sable one two, break approved"
    taken = next(event.assessment for event in trainee.of(TraineeSpoke) if event.assessment.critical)
    assert [(judged.element, judged.severity.value) for judged in taken.faults] == [("silence", "critical")]
    assert taken.score == 50
    ended = trainee.session.end("test")[-1]
    assert (ended.passed, ended.verdict.split(";")[1]) == (False, " 1 critical fault")


def test_the_trainee_does_not_fly_what_another_was_given(typing_trainee) -> None:
    trainee = flown(typing_trainee, "not_for_you", lambda prompt, times: None if times else prompt.model_call)
    assert "break_turn" not in [e.leg for e in trainee.of(LegEntered) if e.at < 480]


def test_silence_makes_him_call_again_and_a_blocked_answer_makes_him_ask(typing_trainee) -> None:
    trainee = flown(typing_trainee, "nobody_answers", until=80)
    assert trainee.prompts[:4] == ["check_in", "check_in", "say_again", "answer_to_overhead_approved"]
    first, again = towers(trainee)[:2]
    assert (first.blocked, again.blocked) == (True, False)
    assert first.words == again.words
    called = [event.at for event in trainee.of(TraineeSpoke)]
    assert first.at > called[1] > called[0] + 5


def test_an_answer_to_what_was_blocked_is_no_question(typing_trainee) -> None:
    def guesses(prompt, times):
        guess = prompt.name == "say_again" and times == 0
        return "adze five two report three mile initial" if guess else prompt.model_call

    trainee = flown(typing_trainee, "nobody_answers", guesses, until=100)
    guess = next(
        event.assessment for event in trainee.of(TraineeSpoke) if event.assessment.call == "say_again"
    )
    assert not guess.accepted


def test_a_question_of_the_drill_comes_before_the_answer_and_carries_its_note(typing_trainee) -> None:
    trainee = flown(typing_trainee, "nobody_answers", until=400)
    question = next(event for event in towers(trainee) if event.reply == "say_callsign")
    after = next(event for event in towers(trainee) if event.at > question.at)
    assert question.note == "Word and figures, all of it."
    assert after.reply == "break_approved"


# -- what happens besides ------------------------------------------------------------------------------


def test_without_a_receiver_the_tower_is_seen_and_not_heard(typing_trainee) -> None:
    trainee = flown(typing_trainee, "lost_radio")
    (failed,) = trainee.of(Happened)
    assert failed.what == "radio_failure"
    assert "in the blind" in failed.words
    assert [(light.signal, light.meaning) for light in trainee.of(LightSignal)] == [
        ("flashing green", "return for landing"),
        ("steady red", "give way, keep circling"),
        ("flashing green", "return for landing"),
        ("steady green", "cleared to land"),
    ]
    assert all(event.at < failed.at for event in (*trainee.of(TowerSpoke), *trainee.of(OtherSpoke)))
    assert not any(prompt.startswith("answer") for prompt in trainee.prompts[3:])
    assert trainee.session.ended.reason == "full stop"


def test_an_engine_failure_is_shown_declared_and_gets_the_pattern(typing_trainee) -> None:
    trainee = flown(typing_trainee, "engine_failure")
    failed = trainee.of(Happened)[0]
    declared = next(event for event in trainee.of(TraineeSpoke) if event.at > failed.at)
    assert declared.assessment.call == "emergency"
    said = [event.reply for event in trainee.of(TowerSpoke) if event.at > failed.at]
    assert said[:2] == ["pattern_closed", "say_fuel_and_souls"]
    words = [event.heard.text for event in trainee.of(TraineeSpoke)]
    assert any("four zero minutes" in text for text in words)  # the drill's fuel


def test_an_emergency_that_is_not_declared_is_missed(typing_trainee) -> None:
    quiet = lambda prompt, times: None if prompt.name == "emergency" else prompt.model_call  # noqa: E731
    trainee = flown(typing_trainee, "engine_failure", quiet)
    assert "emergency" in [event.call for event in trainee.events if type(event).__name__ == "CallMissed"]
    assert trainee.session.ended.score < 100


def test_another_does_what_the_drill_has_it_do(typing_trainee) -> None:
    trainee = flown(typing_trainee, "somebodys_emergency", until=300)
    heron = [event.words for event in trainee.of(OtherSpoke) if event.aircraft == "HERON 42"]
    assert any(words.startswith("mayday") for words in heron)
    assert "emergency_in_pattern" in [event.reply for event in towers(trainee)]


# -- demands -------------------------------------------------------------------------------------------


def test_what_the_drill_demands_is_in_the_model_call_and_is_missed_when_left_out(typing_trainee) -> None:
    trainee = flown(typing_trainee, "wickstone_circuit", until=330)
    spoken = next(event for event in trainee.of(TraineeSpoke) if event.assessment.call == "initial")
    assert "runway zero eight left" in spoken.assessment.model_call
    expected = trainee.session.trainee.expect("initial")
    short = assess(expected, spoken.heard.text.replace("runway zero eight left", ""))
    assert [(judged.element, judged.severity.value) for judged in short.faults] == [("runway", "major")]


def test_a_call_later_than_the_drill_wants_it_is_a_minor_fault(typing_trainee) -> None:
    soon = load_drill("closed_twice").required[0].model_copy(update={"within_s": 0.5})
    silent = iter([None] * 10)  # half seconds

    def slow(prompt, times):
        return next(silent, prompt.model_call) if prompt.name == "request_closed" else prompt.model_call

    trainee = flown(typing_trainee, "closed_twice", slow, until=620, required=(soon,))
    late = [e.assessment for e in trainee.of(TraineeSpoke) if e.assessment.call == "request_closed"]
    assert [(judged.element, judged.severity.value) for judged in late[0].faults] == [("timing", "minor")]


# -- passing and the seed ------------------------------------------------------------------------------


def test_a_drill_is_passed_with_its_mark_no_critical_fault_and_few_minor_ones(typing_trainee) -> None:
    expected = flown(typing_trainee, "first_circuit", until=5).session.trainee.expect("check_in")
    chatty = assess(expected, f"{expected.model_call} at this time")
    grading = Grading(Marks(pass_mark=90, tolerated_minors=1))
    grading.add(chatty)
    assert grading.verdict(95, in_order=True) == (True, "passed")
    assert grading.verdict(80, in_order=True) == (False, "not passed: score 80, the pass mark is 90")
    assert grading.verdict(95, in_order=False) == (False, "not passed: it was not flown to its end")
    grading.add(chatty)
    assert grading.verdict(95, in_order=True) == (False, "not passed: 2 minor faults, 1 are tolerated")
    grading.add(assess(expected, expected.model_call.replace("two one", "one two")))
    assert grading.verdict(95, in_order=True)[1].startswith("not passed: 1 critical fault;")
    assert Grading(None).verdict(0, in_order=False) == (None, "")


def test_the_seed_draws_what_the_drill_leaves_free_and_nothing_else() -> None:
    drill, field = load_drill("any_day"), load_field("corbel")
    plans = [SessionPlan.of_drill(drill, field, seed=seed) for seed in range(40)]
    assert plans[7] == SessionPlan.of_drill(drill, field, seed=7)
    for key in ("callsign", "entry_point", "check_in_altitude_ft", "atis", "wind", "altimeter", "visitors"):
        assert len({str(getattr(plan, key)) for plan in plans}) > 2, key
    for plan in plans:
        assert plan.callsign in drill.callsigns
        assert plan.check_in_altitude_ft > field.overhead_altitude_ft
        if plan.wind != "calm":
            towards, knots = (int(part) for part in plan.wind.split("/"))
            assert abs(math.remainder(towards - 310, 360)) <= 60
            assert 3 <= knots <= 12
    written = load_drill("first_flight")
    assert len({SessionPlan.of_drill(written, field, seed=seed).wind for seed in range(9)}) == 1


def test_a_qnh_is_said_as_it_was_written() -> None:
    """And an inch setting is what it is: 29.92 inHg is 1013 hPa (ICAO Doc 7488: 1013.25)."""
    icao = standard("icao")
    for qnh in range(948, 1067):
        assert pressure_of(hundredths(str(qnh)), icao) == {Kind.QNH: str(qnh)}
    assert hundredths("29.92") == "2992"
    assert pressure_of("2992", icao) == {Kind.QNH: "1013"}
