"""Roster, collecting and sheets: bad input is one sentence with its place, and hostile text stays text."""

import csv
import hashlib
import io
import json
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.school.pages import Page
from trainer.cli import main
from trainer.errors import TrainerError
from trainer.logbook.locations import VARIABLE
from trainer.school.cells import csv_text
from trainer.school.classroom import Classroom, new_class, open_class
from trainer.school.collecting import collect
from trainer.school.counting import class_figures
from trainer.school.roster import Student, read_roster
from trainer.school.session_file import MANIFEST, SESSION, read_session
from trainer.school.sheets import write_sheets

HOSTILE = '=HYPERLINK("http://x")<script>alert(1)</script>&"\''
Pack = Callable[..., Path]


def spoke(
    element: str = "gear", verdict: str = "missing", severity: str = "critical", **more: Any
) -> dict[str, Any]:
    judged = [
        {"element": "callsign", "expected": "SABLE 21", "heard": "SABLE 21", "verdict": "right", "severity": "none", "rule": ""},
        {"element": element, "expected": "down", "heard": "", "verdict": verdict, "severity": severity, "rule": ""},
    ]  # fmt: skip
    return {
        "event": "TraineeSpoke", "at": 10.0, "call": "gear_report", "heard_by": "situation", "words": [],
        "answer_s": 2.0, "score": 50, "accepted": False, "critical": [element], "heard": "sable two one",
        "model_call": "", "elements": judged, **more,
    }  # fmt: skip


def content(**more: Any) -> dict[str, Any]:
    return {
        "started": "2026-11-25T10:00:00+00:00", "trainee": "7", "summary": None, "track": [], "clips": [],
        "meta": {"title": "First", "pace": "real"}, "events": [spoke()], **more,
    }  # fmt: skip


@pytest.fixture
def pack(tmp_path: Path) -> Pack:
    """Writes a session file; what is wrong with it can be said."""

    def write(
        name: str = "a", session: Any = None, extra: dict[str, bytes] | None = None, **changed: Any
    ) -> Path:
        text = json.dumps(content() if session is None else session).encode()
        members = {SESSION: text, **(extra or {})}
        sums = {each: hashlib.sha256(data).hexdigest() for each, data in members.items()}
        manifest = {"format": "patternvoice session", "version": 1, "sha256": sums, **changed}
        path = tmp_path / "in" / f"{name}.pvsession"
        path.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(path, "w") as out:
            out.writestr(MANIFEST, json.dumps(manifest))
            for each, data in members.items():
                out.writestr(each, data)
        return path

    return write


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Classroom:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "desk"))
    made = new_class("Autumn")
    made.set_roster([Student(number="7", name="Alder"), Student(number="8", name=HOSTILE)])
    return made


def taken(room: Classroom, tmp_path: Path) -> list[str | None]:
    return [each.problem for each in collect(room, tmp_path / "in")]


# -- roster --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "students"),
    [
        ("name\nAlder\nBirch\n", ["Alder", "Birch"]),
        ("Number,Name\n7,Alder\n\n8,Birch\n", ["7 Alder", "8 Birch"]),
        ("\ufeffnumber;name\r\n7;\r\n;Birch\r\n", ["7", "Birch"]),
        ('name\n"Alder,  A."\n', ["Alder, A."]),
    ],
)
def test_a_roster_is_names_numbers_or_both(text: str, students: list[str], tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    path.write_text(text, encoding="utf-8", newline="")
    assert [each.title for each in read_roster(path)] == students


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "is empty"),
        ("name,birthday\nAlder,1.1.\n", 'line 1: the column "birthday" is not kept'),
        ("name,name\na,b\n", "line 1: a column stands there twice"),
        ("name,number\nAlder\n", "line 2: 1 cells under 2 columns"),
        ("name,number\nAlder,1\nBirch,1\n", 'line 3: "1" stands in line 2 already'),
        ("name,number\nAlder,1\n , -\n-,\n", 'line 4: "-" stands in line 3 already'),
        ("name\n" + "x" * 61 + "\n", "line 2: not a name or number"),
        ("name\nAl\x07der\n", "line 2: not a name or number"),
        ('name\n"Alder\n', "is not a CSV file"),
        ("name\n", "0 students"),
    ],
)
def test_a_bad_roster_is_one_sentence_with_its_line(text: str, sentence: str, tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TrainerError, match=re.escape(sentence)) as refused:
        read_roster(path)
    assert str(path) in str(refused.value)


def test_a_roster_that_is_not_text(tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    path.write_bytes(b"name\n\xff\xfe\n")
    with pytest.raises(TrainerError, match="not UTF-8"):
        read_roster(path)


# -- files that are handed in --------------------------------------------------------------------------


def test_a_session_is_taken_in_once_and_by_the_name_in_it_the_folder_or_the_file(
    room: Classroom, pack: Pack, tmp_path: Path
) -> None:
    pack("a")
    pack("copy of a")
    pack("alder/x", content(trainee="", started="2026-11-26T10:00:00"))
    pack("8_monday", content(trainee="", started="2026-11-27T10:00:00"))
    pack("who", content(trainee="Nobody", started="2026-11-28T10:00:00"))
    found = {each.path.stem: each for each in collect(room, tmp_path / "in")}
    assert [found[name].student for name in ("a", "x", "8_monday")] == ["7 Alder", "7 Alder", f"8 {HOSTILE}"]
    assert (found["a"].new, found["copy of a"].new) == (True, False)
    assert 'says "Nobody", and nobody of that name is on the roster of Autumn' in str(found["who"].problem)
    assert not any(each.new for each in collect(room, tmp_path / "in"))


@pytest.mark.parametrize(
    "name", ["../../evil.txt", "/etc/passwd", "C:\\evil", "sub/session.json", "recording.exe"]
)
def test_a_name_that_leads_elsewhere_is_refused_and_nothing_is_written(
    name: str, room: Classroom, pack: Pack, tmp_path: Path
) -> None:
    pack(extra={name: b"evil"})
    before = set(tmp_path.rglob("*"))
    (problem,) = taken(room, tmp_path)
    assert "does not belong in a session" in str(problem)
    assert not [path for path in tmp_path.rglob("*") if path not in before and "logbook" not in path.name]


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda pack: pack(version=2), "is of version 2, this reads 1: update patternvoice"),
        (lambda pack: pack(sha256={SESSION: "0" * 64}), "the checksum of session.json is another"),
        (lambda pack: pack(sha256={}), "has a manifest that does not fit it"),
        (lambda pack: pack(format="other"), "holds no session as patternvoice writes it"),
        (lambda pack: pack(session=[]), "holds no session as patternvoice writes it"),
        (lambda pack: pack(session=content(events=[{"event": 3}])), "an event without name or time"),
        (lambda pack: pack(session=content(events=[spoke(score=1000)])), "holds no session"),
        (lambda pack: pack(session=content(events=[spoke(verdict="splendid")])), "holds no session"),
        (lambda pack: pack(session=content(more=1)), "holds no session"),
        (lambda pack: pack(extra={"recording.wav": b"", "recording.flac": b""}), "holds something twice"),
    ],
)
def test_a_file_that_is_not_so_is_refused_with_its_remedy_and_the_others_are_taken(
    make: Callable[[Pack], Path], sentence: str, room: Classroom, pack: Pack, tmp_path: Path
) -> None:
    bad = make(pack)
    pack("b", content(started="2026-11-26T10:00:00"))
    first, second = taken(room, tmp_path)
    assert sentence in str(first)
    assert str(bad) in str(first)
    assert second is None


def test_half_a_file_and_one_that_unpacks_to_too_much(pack: Pack, monkeypatch: pytest.MonkeyPatch) -> None:
    path = pack("half")
    path.write_bytes(path.read_bytes()[:-40])
    with pytest.raises(TrainerError, match="is no whole export"):
        read_session(path)
    monkeypatch.setitem(__import__("trainer.school.session_file", fromlist=["x"]).MOST_BYTES, SESSION, 100)
    with pytest.raises(TrainerError, match="too much"):
        read_session(pack("bomb"))


def test_a_session_that_was_broken_off_while_it_was_taken_in_is_taken_in_whole(
    room: Classroom, pack: Pack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from trainer.logbook.store import Logbook

    pack()
    with monkeypatch.context() as patch:
        patch.setattr(Logbook, "finish", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            list(collect(room, tmp_path / "in"))
    assert taken(room, tmp_path) == [None]
    assert class_figures(room).calls == 1


# -- corrections and sheets ----------------------------------------------------------------------------


def run(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    return int(ended.value.code or 0)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("9", "1", "gear", "right"), "no session 9 with calls was collected"),
        (("1", "2", "gear", "right"), "session 1 has no call 2: it has calls 1 to 1"),
        (("1", "1", "atis", "right"), 'no element "atis": choose one of: callsign, gear'),
        (("1", "1", "gear", "missing"), "gear of call 1 is missing already"),
        (("1", "1", "gear", "splendid"), "splendid"),
    ],
)
def test_a_correction_of_what_is_not_there_is_one_sentence(
    words: tuple[str, ...], sentence: str, room: Classroom, pack: Pack, tmp_path: Path, capsys
) -> None:
    pack()
    list(collect(room, tmp_path / "in"))
    assert run("class", "correct", *words, "--reason", "because") == 2
    assert sentence in capsys.readouterr().err
    assert run("class", "correct", "1", "1", "gear", "right", "--reason", "  ") == 2
    assert "a correction needs its reason" in capsys.readouterr().err


def test_a_later_correction_goes_before_an_earlier_one_and_all_are_kept(
    room: Classroom, pack: Pack, tmp_path: Path
) -> None:
    pack()
    list(collect(room, tmp_path / "in"))
    assert class_figures(room).students[0].score == 50
    for verdict, score in (("right", 100), ("wrong", 50), ("nonstandard", 95)):
        assert run("class", "correct", "1", "1", "gear", verdict, "--reason", f"now {verdict}") == 0
        figures = class_figures(room).students[0]
        assert figures.score == score
        assert (figures.accepted, figures.element("gear").points) == (score >= 95, 100 - score)
    assert [each.now.value for each in figures.corrections] == ["right", "wrong", "nonstandard"]
    assert {each.was.value for each in figures.corrections} == {"missing"}


def test_hostile_text_stays_text_on_every_page_and_is_no_formula_in_any_table(
    room: Classroom, pack: Pack, tmp_path: Path
) -> None:
    """A name, a title, a call and an element that want to be markup, a formula or a terminal's command."""
    event = spoke(element=HOSTILE, call=HOSTILE)
    pack("8_a", content(trainee="8", meta={"title": HOSTILE + "\x1b[2J", "pace": "real"}, events=[event]))
    list(collect(room, tmp_path / "in"))
    assert (
        run("class", "correct", "1", "1", HOSTILE.lower(), "right", "--reason", HOSTILE) == 2
    )  # as it is written
    write_sheets(class_figures(room), tmp_path / "out", "25 November 2026")
    for path in (tmp_path / "out").glob("*.html"):
        page = Page.of(path)
        assert "script" not in page.tags
        assert "\x1b" not in path.read_text(encoding="utf-8")
    assert [row[0] for row in Page.of(tmp_path / "out" / "class.html").rows(0)] == ["7 Alder", f"8 {HOSTILE}"]
    for path in (tmp_path / "out").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.reader(file):
                assert not [cell for cell in row if cell[:1] in "=+-@\t\r" and cell[:1]], path


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "  =1+1", "\n=1", "＝1"])
def test_a_cell_that_a_spreadsheet_would_take_for_a_formula_gets_an_apostrophe(text: str) -> None:
    ((cell, number),) = csv.reader(io.StringIO(csv_text((text, "n"), ()), newline=""))
    assert cell == f"'{text}"
    assert number == "n"


def test_a_number_stays_a_number() -> None:
    assert csv_text(("a", "b"), [(-1.5, None)]) == "a,b\r\n-1.5,\r\n"


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("new", "../up"), "cannot be the name of a class"),
        (("new", "autumn"), "there is a class autumn already"),
        (("sheet", "--class", "Spring"), 'there is no class "Spring": choose one of: Autumn'),
        (("assign",), "no drill to assign"),
        (("assign", "no_such_drill"), "no_such_drill"),
        (("collect", "nowhere"), "there is no folder nowhere"),
        (("collect", "."), "there is no exported session"),
        (("roster", "nowhere.csv"), "nowhere.csv"),
    ],
)
def test_bad_input_is_one_sentence(
    words, sentence, room: Classroom, tmp_path: Path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("class", *words) == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1


def test_without_a_class_and_with_several_it_is_said_which_to_name(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "desk"))
    with pytest.raises(TrainerError, match="there is no class yet"):
        open_class(None)
    new_class("Autumn")
    assert open_class(None).name == "Autumn"
    new_class("Spring")
    with pytest.raises(TrainerError, match=r"several classes \(Autumn, Spring\)"):
        open_class(None)


def test_an_empty_class_has_sheets_too(room: Classroom, tmp_path: Path) -> None:
    written = write_sheets(class_figures(room), tmp_path / "out", "25 November 2026")
    assert len(written) == 9
    assert [row[1] for row in Page.of(written[0]).rows(0)] == ["nothing collected yet"] * 2
