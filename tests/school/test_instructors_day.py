"""An instructor's day: a class is made, five students fly three drills on machines of their own and hand in, one
verdict is corrected, and the sheets show first what was built in."""

import csv
import json
import shutil
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from tests.school.pages import Page
from tests.school.students import PUPILS, fly_all
from trainer.cli import main
from trainer.logbook.locations import VARIABLE

DRILLS = ("first_flight", "denied_three_ways", "similar_callsigns")
Machine = Callable[[Path], None]


def run(*words: str, status: int = 0) -> None:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    assert (ended.value.code or 0) == status, words


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole day by commands; the folder with the machines `1` to `5`, `desk`, what was handed in, and the
    sheets before and after the correction."""
    folder = tmp_path_factory.mktemp("day")
    with ProcessPoolExecutor(2) as pool:
        for flown in [pool.submit(fly_all, folder / str(place + 1), place, DRILLS) for place in range(5)]:
            flown.result()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for pupil in PUPILS:  # the fifth hands in by a folder of his name, the others name themselves
            patch.setenv(VARIABLE, str(folder / pupil.number))
            known = pupil.number if pupil.name != "Elder" else "nobody"
            run("class", "hand-in", "1", "2", "3", "--as", known, "--out", f"in/{pupil.name.lower()}")
        patch.setenv(VARIABLE, str(folder / "desk"))
        roster = "\ufeffNumber;Name\r\n" + "".join(f"{each.number};{each.name}\r\n" for each in PUPILS)
        Path("roster.csv").write_text(roster, encoding="utf-8")
        run("class", "new", "Autumn", "--roster", "roster.csv")
        run("class", "assign", *DRILLS)
        run("class", "collect", "in")
        run("class", "sheet", "--out", "before")
        run("class", "collect", "in")  # again: nothing counts twice
        session, call = first_gear_fault(folder / "before" / "class.json", folder / "desk")
        run(
            "class",
            "correct",
            str(session),
            str(call),
            "gear",
            "right",
            "--reason",
            "he said it; <b>static</b>",
        )
        run("class", "sheet", "--out", "after")
    return folder


def first_gear_fault(sheet: Path, desk: Path) -> tuple[int, int]:
    """Session and call in which Birch first left the gear out."""
    from trainer.logbook.store import Logbook

    student = json.loads(sheet.read_text())["students"][1]
    session = student["sessions"][0]["session"]
    with Logbook.open(desk / "classes" / "Autumn") as logbook:
        rows = logbook.rows("SELECT id FROM calls WHERE session = ? ORDER BY id", (session,))
        wrong = logbook.rows(
            "SELECT min(call_id) FROM marks JOIN calls ON calls.id = call_id"
            " WHERE session = ? AND element = 'gear' AND verdict = 'missing'",
            (session,),
        )
    return session, [number for (number,) in rows].index(wrong[0][0]) + 1


def sheet(day: Path, when: str) -> dict:
    return json.loads((day / when / "class.json").read_text(encoding="utf-8"))


def test_the_weakness_that_was_built_in_stands_first_for_each_student(day: Path) -> None:
    for when in ("before", "after"):
        first = {each["title"]: each["work_on"][0] for each in sheet(day, when)["students"]}
        assert first == {f"{each.number} {each.name}": each.weakness for each in PUPILS}


def test_the_class_sheet_has_the_weaknesses_as_its_first_columns_and_errors(day: Path) -> None:
    elements = [each["element"] for each in sheet(day, "after")["elements"]]
    built_in = [each.weakness for each in PUPILS if each.weakness != "time to answer"]
    assert set(elements[: len(built_in) + 1]) == {*built_in, "making the call"}  # who is slow misses calls
    page = Page.of(day / "after" / "class.html")
    names = page.columns("Student")
    assert set(names[0]) >= {"Student", "Work on first", "To answer"}
    assert [row[1].split(", ")[0] for row in page.rows(0)] == [each.weakness for each in PUPILS]
    assert names[1][1:5] == elements[:4]
    assert {row[0] for row in page.rows(2)[:5]} == set(elements[:5])


def test_the_slow_one_is_marked_and_nobody_else(day: Path) -> None:
    slow = {each["title"]: (each["slow"], each["answer_s"]) for each in sheet(day, "after")["students"]}
    assert [title for title, (is_slow, _) in slow.items() if is_slow] == ["5 Elder"]
    assert slow["5 Elder"][1] > 7.0 > 3.0 > slow["1 Alder"][1]


def test_all_of_the_assigned_drills_are_known_as_flown_and_nothing_counts_twice(day: Path) -> None:
    for student in sheet(day, "after")["students"]:
        assert [each["flown"] for each in student["drills"]] == [1, 1, 1]
        assert len(student["sessions"]) == 3
    assert sheet(day, "after")["calls"] == sheet(day, "before")["calls"]


def test_a_correction_counts_is_shown_beside_what_was_judged_and_changes_no_other_student(day: Path) -> None:
    before, after = (sheet(day, when)["students"] for when in ("before", "after"))
    gear = [next(e for e in each[1]["elements"] if e["element"] == "gear") for each in (before, after)]
    assert gear[1]["right"] == gear[0]["right"] + 1
    assert gear[1]["points"] == gear[0]["points"] - 50
    assert after[1]["accepted"] == before[1]["accepted"] + 1
    assert after[1]["score"] > before[1]["score"]
    assert before[0] == after[0]
    (made,) = after[1]["corrections"]
    assert (made["was"], made["was_severity"], made["now"]) == ("missing", "critical", "right")
    for name in ("class.html", "student-02-2.html"):
        page = Page.of(day / "after" / name)
        row = next(row for row in page.rows(-1) if row[0] == "gear")
        assert row[2:5] == ["- missing, critical", "+ right, none", "he said it; <b>static</b>"]


def test_the_judgement_itself_is_never_changed(day: Path) -> None:
    """All that was handed in is in the class's logbook as it was, event for event."""
    from trainer.logbook.store import Logbook

    with Logbook.open(day / "desk" / "classes" / "Autumn") as desk, Logbook.open(day / "2") as own:
        for row in own.sessions():
            (taken,) = (
                each for each in desk.sessions("meta ->> 'student' = '2'") if each.started == row.started
            )
            assert desk.events(taken.id) == own.events(row.id)


def test_csv_and_json_of_everybody_are_there(day: Path) -> None:
    names = {path.name for path in (day / "after").iterdir()}
    assert names == {
        f"{stem}.{ending}"
        for stem in ("class", *(f"student-0{n}-{n}" for n in range(1, 6)))
        for ending in ("html", "csv", "json")
    }
    with (day / "after" / "class.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["work_on"].split(", ")[0] for row in rows] == [each.weakness for each in PUPILS]
    assert float(rows[1]["gear"]) < 0.75 < float(rows[0]["gear"]) == 1.0


@pytest.mark.skipif(shutil.which("chromium") is None, reason="needs chromium")
@pytest.mark.parametrize(("name", "width"), [("class", 390), ("class", 1366), ("student-05-5", 390)])
def test_in_a_browser_the_page_itself_is_never_wider_than_the_screen(
    day: Path, name: str, width: int
) -> None:
    """Wide tables scroll in their own frame; looked at in Chromium at the size of a phone and of a laptop."""
    assert Page.widths(day / "after" / f"{name}.html", width) <= (width, width)
