"""A drill is flown by the checker: forced replies that endanger are found. The library: `tests/library`."""

import re
from pathlib import Path

import pytest

from drills.check import load_drill, load_field
from drills.errors import Severity
from trainer.cli import main
from trainer.commands.check import check
from trainer.rehearsal import rehearse
from trainer.session.plan import SessionPlan

MADE = Path(__file__).parent / "drills" / "made"
LIBRARY = Path(__file__).parents[1] / "drills" / "library"
DANGEROUS = MADE / "forced_closed_endangers.yaml"


def test_a_forced_reply_that_endangers_is_found_with_line_column_who_and_when() -> None:
    (finding,) = check(DANGEROUS)
    lines = DANGEROUS.read_text().splitlines()
    assert lines[finding.line - 1][finding.column - 1 :] == "closed_approved"
    assert finding.severity is Severity.ERROR
    assert re.match(
        r"after this forced reply at \d+:\d\d HERON 42 \(.+\) and SABLE 21 \(.+\) come", finding.message
    )
    assert "the field's minimum is 0.5" in finding.message


def test_left_to_the_tower_the_same_drill_endangers_nobody() -> None:
    drill = load_drill(DANGEROUS).model_copy(update={"tower": ()})
    assert list(rehearse(drill, load_field("corbel")).problems()) == []


def test_the_command_says_where_and_fails(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["check", str(DANGEROUS)])
    assert ended.value.code == 2
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith(f"{DANGEROUS}:28:12: error: after this forced reply")
    assert said[-1] == "1 file(s): 1 error(s), 0 warning(s)"


def changed(tmp_path: Path, *pairs: tuple[str, str], source: Path = DANGEROUS) -> list[str]:
    text = source.read_text()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "drill.yaml"
    path.write_text(text)
    return [str(finding).removeprefix(f"{path}:") for finding in check(path)]


def test_a_clearance_for_a_runway_that_is_not_free_is_found(tmp_path: Path) -> None:
    """HERON 42 stops on the runway, and the trainee is cleared behind him all the same."""
    findings = changed(
        tmp_path,
        ("starts: initial", "starts: inside_downwind"),
        ("after_s: 470", "after_s: 325"),
        ("    circuits: [touch_and_go, full_stop]", "    circuits: [full_stop]"),
        ("on: request_closed", "on: gear_report"),
        ("reply: closed_approved", "reply: cleared"),
    )
    (found,) = [finding for finding in findings if "on the runway" in finding]
    assert found.startswith("28:12: error: after this forced reply at ")
    assert "HERON 42 would still be on the runway when SABLE 21 lands" in found


def test_traffic_that_appears_beside_the_trainee_is_no_fault_of_a_reply(tmp_path: Path) -> None:
    findings = changed(
        tmp_path,
        ("after_s: 470", "after_s: 320"),
        ("fast_jet", "turboprop_trainer"),
        ("occurrence: 1", "occurrence: any"),
    )
    assert [finding.split(":")[0] for finding in findings] == ["19"]
    assert "come within" in findings[0]


def test_a_reply_that_never_comes_up_and_a_drill_that_never_ends_are_said(tmp_path: Path) -> None:
    findings = changed(
        tmp_path,
        ("on: request_closed", "on: outside_downwind"),
        ("reply: closed_approved", "reply: report_initial"),
        ("time_limit_minutes: 35", "time_limit_minutes: 5"),
        ("expected_minutes: 15", "expected_minutes: 5"),
    )
    assert [finding.split(": ")[1] for finding in findings] == ["warning", "warning"]
    assert "not over after 5 minutes" in findings[0]
    assert "never comes up" in findings[1]


def test_a_demand_in_a_drill_comes_beside_its_traffic_from_the_seed() -> None:
    drill = load_drill("first_flight").model_copy(update={"demand": 8.0})
    field = load_field("corbel")
    plan, again, other = (SessionPlan.of_drill(drill, field, seed=seed) for seed in (1, 1, 2))
    assert plan.visitors == again.visitors != other.visitors
    assert plan.stations[:2] == ["SABLE 21", "HERON 42"]
    assert len(plan.stations) == len(set(plan.stations)) > 4
    assert SessionPlan.of_drill(load_drill("first_flight"), field).visitors == ()


def test_a_demand_in_a_drill_flies_and_talks(tmp_path: Path) -> None:
    """Beside the drill's own traffic; the trainee still gets his pattern."""
    assert changed(tmp_path, ("tower:", "demand: 7\ntower:"), source=LIBRARY / "first_flight.yaml") == []
    assert (
        "at most 20"
        in changed(tmp_path, ("tower:", "demand: 30\ntower:"), source=LIBRARY / "first_flight.yaml")[0]
    )
