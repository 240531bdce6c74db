"""`patternvoice logbook` and `progress` as typed, good and bad."""

import csv
import io
import json
from pathlib import Path

import pytest

from trainer.cli import main
from trainer.logbook.store import Logbook
from trainer.recording_choice import ask_about_recordings
from trainer.settings import load_settings


@pytest.fixture
def run(flown: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    monkeypatch.setenv("PATTERNVOICE_DATA", str(flown))

    def run(*words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(list(words))
        said = capsys.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return run


def test_list_and_show(run) -> None:
    status, out, _ = run("logbook", "list")
    assert status == 0
    assert out.splitlines()[0].startswith("    2  2026-02-02 18:00  100 ")
    assert out.splitlines()[-1] == "2 sessions"
    assert [
        each["id"] for each in json.loads(run("logbook", "list", "--json", "--until", "2026-01-31")[1])
    ] == [1]
    status, out, _ = run("logbook", "show", "1")
    assert "Gear report: not accepted, 50" in out
    assert "x callsign: Say your own callsign in full" in out
    whole = json.loads(run("logbook", "show", "1", "--json")[1])
    assert whole["events"][-1]["event"] == "SessionEnded"


def test_a_call_that_is_none_is_said_with_those_that_are_near(run) -> None:
    status, out, err = run("logbook", "list", "--call", "bogus")
    assert (status, out) == (2, "")
    assert err.startswith('patternvoice: there is no call or reply "bogus": write one of: check_in, ')
    assert err.count("\n") == 1
    assert 'did you mean "gear_report"' in run("logbook", "list", "--call", "gear repot")[2]
    assert run("logbook", "list", "--call", "Gear-Report")[0] == 0
    assert run("logbook", "delete", "--call", "bogus")[0] == 2


def test_export(run, tmp_path: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(run("logbook", "export", "--format", "csv")[1])))
    assert {row["session"] for row in rows} == {"1", "2"}
    assert run("logbook", "export", "2", "--out", str(tmp_path / "a.json"))[0] == 0
    (only,) = json.loads((tmp_path / "a.json").read_text("utf-8"))
    assert only["id"] == 2


def test_a_title_that_a_spreadsheet_would_run_is_defused(run, flown: Path) -> None:
    with Logbook.open(flown) as logbook:
        number = logbook.start_session({"title": "=1+1"}, "2026-03-01T00:00:00")
        logbook.write(number, {"event": "CallMissed", "at": 1.0, "call": "initial", "consequence": ""})
    assert "'=1+1" in run("logbook", "export", str(number), "--format", "csv")[1]


def test_delete_asks_or_wants_to_be_told(run) -> None:
    assert run("logbook", "delete")[::2] == (
        2,
        "patternvoice: nothing was chosen to delete: name sessions, a date or a drill, or give --all\n",
    )
    assert run("logbook", "delete", "1", "--yes")[1] == "Deleted: 1 session and 0 recordings.\n"
    assert run("logbook", "list")[1].splitlines()[-1] == "1 session"
    assert run("logbook", "delete", "1", "--yes")[1] == "No session matches.\n"


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("list", "--since", "31.3."), 'patternvoice: "31.3." is no date: write year, month and day'),
        (("show", "77"), "patternvoice: the logbook has no session 77; see patternvoice logbook list."),
        (("backup", "/nowhere/a.zip"), "patternvoice: the backup /nowhere/a.zip cannot be written"),
        (("recordings", "--limit-mb", "0"), "patternvoice: 0 MB is no limit: write 1 to 1,000,000"),
        (("recordings", "mp3"), "patternvoice: "),
    ],
)
def test_bad_input_is_one_sentence(run, words: tuple[str, ...], sentence: str) -> None:
    status, _, error = run("logbook", *words)
    assert status == 2
    assert error.startswith(sentence)
    assert error.count("\n") == 1


def test_progress_names_the_weakest_first(run) -> None:
    out = run("progress")[1]
    assert "Gear report" in out.split("\n\n")[1].splitlines()[0]
    assert "callsign in Gear report: right " in out
    assert json.loads(run("progress", "--json")[1])["by_element"][0]["element"] == "callsign"


def test_recordings_are_asked_about_once_and_can_be_changed(run) -> None:
    asked: list[str] = []

    def answer(question: str) -> str:
        asked.append(question)
        return "Y"

    assert load_settings()[0].recordings is None
    for _ in range(2):
        ask_about_recordings(answer)
    assert len(asked) == 1
    assert load_settings()[0].recordings == "flac"
    out = run("logbook", "recordings", "off", "--limit-mb", "50")[1]
    assert out.splitlines()[-1] == "Recordings: none are kept; 0 of 50 MB taken."
    assert load_settings()[0].recordings == "off"
