"""Every drill of the library, flown: sound, over in order at 100, and each wrong answer loses what it should."""

import re

import pytest

from drills.check import check_file, drill_names, load_drill, load_field
from drills.errors import Finding
from drills.field import Field
from tests.library.flying import TABLE, OneWrong, flown, row
from tests.library.wrong_answers import CRITICAL, WRONG_ANSWERS, costs
from trainer.rehearsal import rehearse

NAMES = drill_names()


@pytest.mark.parametrize("name", NAMES)
def test_the_right_one_scores_100_and_each_wrong_answer_loses_what_it_should(name: str) -> None:
    drill = load_drill(name)
    rehearsal, judge = flown(name)
    ended = rehearsal.ended
    assert (ended.reason, ended.score, ended.passed) == ("full stop", 100, True)
    assert ended.accepted == ended.calls >= 6
    assert ended.at / 60 == pytest.approx(drill.expected_minutes, abs=1), (
        "expected_minutes is not what it takes"
    )
    assert judge.disagreements == []
    assert row(name, rehearsal, judge) in TABLE.read_text(encoding="utf-8").splitlines(), (
        "run: python -m tests.library.flying"
    )
    assert list(rehearsal.problems()) == []


@pytest.mark.parametrize("name", NAMES)
def test_one_wrong_answer_in_a_whole_flight_loses_its_points_and_nothing_else(name: str) -> None:
    """Another one in each drill. What the tower then asks is answered by the book."""
    drill, first = load_drill(name), NAMES.index(name)
    for wrong in (*WRONG_ANSWERS[first % len(WRONG_ANSWERS) :], *WRONG_ANSWERS):
        trainee = OneWrong(wrong)
        ended = rehearse(drill, load_field(drill.field), saying=trainee).ended
        if trainee.given:
            break
    assert trainee.given
    assert ended.reason in ("full stop", "the last approach is flown")
    assert ended.score == round(100 - trainee.points / ended.calls, 1)
    assert ended.passed is (trainee.points < CRITICAL or "roger" in wrong.name)


def test_the_table_names_every_drill_once() -> None:
    rows = re.findall(r"^\| (\w+) \| \d+", TABLE.read_text(encoding="utf-8"), re.MULTILINE)
    assert tuple(rows) == NAMES


def test_the_table_says_what_each_wrong_answer_loses() -> None:
    written = TABLE.read_text(encoding="utf-8").splitlines()
    assert written[-len(WRONG_ANSWERS) :] == list(costs())


def test_the_library_covers_what_it_is_for() -> None:
    drills = {name: load_drill(name) for name in NAMES}
    assert len(drills) >= 20
    replies = {step.reply for drill in drills.values() for step in drill.tower}
    denials = {"closed_denied_breakout", "closed_denied_climb_out", "closed_denied_outside", "extend_upwind"}
    assert denials <= replies
    traps = {step.trap for drill in drills.values() for step in drill.tower if step.trap}
    assert traps == {"wrong_callsign", "wrong_runway", "blocked"}
    mishaps = {event.trainee for drill in drills.values() for event in drill.events if event.trainee}
    assert {"engine_failure", "minimum_fuel", "radio_failure"} <= mishaps
    assert {drill.pace for drill in drills.values()} >= {"patient", "real"}
    assert any(drill.formation for drill in drills.values())
    assert any(drill.required for drill in drills.values())
    assert any(step.when for drill in drills.values() for step in drill.tower)
    fields: dict[str, Field] = {drill.field: load_field(drill.field) for drill in drills.values()}
    assert {field.standard for field in fields.values()} == {"us_military_tower", "icao"}


def test_only_callsigns_and_fields_of_the_invented_world() -> None:
    words = {"SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE"}
    for name in NAMES:
        drill = load_drill(name)
        assert drill.field in ("corbel", "wickstone")
        said = [*drill.callsigns, *(other.callsign for other in drill.traffic)]
        said += [step.to for step in drill.tower if step.to]
        assert all(callsign.split()[0] in words and len(callsign.split()[1]) == 2 for callsign in said)


def test_the_check_without_flying_finds_nothing() -> None:
    from importlib import resources
    from pathlib import Path

    found: list[Finding] = []
    for name in NAMES:
        found += check_file(Path(str(resources.files("drills"))) / "library" / f"{name}.yaml")
    assert found == []
