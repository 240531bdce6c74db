"""Drills, fields, rosters, questions, sounds, settings, models, the logbook: whatever is in the file, what reads
it gives a value or one of the program's own errors, and soon."""

import io
import json
import os
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from drills.check import check_file, load_drill, load_field
from drills.errors import DrillError
from tests.trust.spoiling import NASTY_TEXTS, examples, refused_or_read, spoilt_bytes, spoilt_value
from trainer import microphone_check
from trainer.commands.hear import read_call
from trainer.ears.calibration import Calibration, Verdict
from trainer.ears.errors import EarsError
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest, check_model_files
from trainer.errors import TrainerError
from trainer.live.shelf import shelf
from trainer.logbook.errors import LogbookError
from trainer.logbook.locations import VARIABLE
from trainer.logbook.recordings import piece
from trainer.models import installed_models
from trainer.school.cells import csv_text
from trainer.school.classroom import new_class, open_class
from trainer.school.corrections import corrections
from trainer.school.ledger import Ledger
from trainer.school.questions import LIST, listed_questions
from trainer.school.roster import read_roster
from trainer.settings import Choice, Settings, load_settings, settings_file
from voices.errors import VoiceError

DRILLS = Path(__file__).parents[2] / "drills"
DRILL = (DRILLS / "library" / "first_flight.yaml").read_bytes()
FIELD = (DRILLS / "fields" / "corbel.yaml").read_bytes()


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "data"))
    (tmp_path / "data").mkdir(mode=0o700)
    return tmp_path / "data"


# -- drills and fields -----------------------------------------------------------------------------------


@examples(60)
@given(spoilt=spoilt_bytes(DRILL) | spoilt_bytes(FIELD))
def test_a_spoilt_drill_or_field(tmp_path: Path, spoilt: bytes) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(spoilt)
    refused_or_read(lambda: check_file(path), ())
    for load in (load_drill, load_field):
        refused_or_read(lambda load=load: load(path), (DrillError,))


BOMBS = {
    "aliases": b"drill: &a [x,x,x,x]\n" + b"".join(b"k%d: &b%d [*a,*a,*a]\n" % (n, n) for n in range(9)),
    "deep flow": b"drill: " + b"[" * 100_000,
    "deep keys": b"".join(b" " * n + b"k:\n" for n in range(700)),
    "deep list": b"- " * 50_000,
    "deep map": b"drill: " + b"{a: " * 50_000,
    "many keys": b"drill: x\n" + b"".join(b"k%d: 1\n" % n for n in range(20_000)),
    "a long word": b"drill: " + b"a" * 250_000,
    "a long number": b"drill: " + b"9" * 250_000,
    "merge": b"drill: {<<: [*a, *a]}",
    "object": b"drill: !!python/object/apply:os.system [touch escaped]",
    "many quotes": b"drill: " + b"'" * 200_000,
    "too large": b"drill: x\n" + b"#" * 10_000_000,
}


@pytest.mark.parametrize("kind", BOMBS)
def test_a_yaml_bomb_is_refused_soon(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "bomb.yaml"
    path.write_bytes(BOMBS[kind])
    refused = refused_or_read(lambda: load_drill(path), (DrillError,))
    assert isinstance(refused, DrillError)
    assert sorted(tmp_path.iterdir()) == [path]


def test_a_field_outside_is_only_read_as_a_field(tmp_path: Path) -> None:
    """A drill may name its field's file; what lies there is not shown if it is none."""
    (tmp_path / "secret").write_text("the password is swordfish\n")
    path = tmp_path / "a" / "a.yaml"
    path.parent.mkdir()
    path.write_bytes(DRILL.replace(b"field: corbel", b"field: ../secret"))
    assert "swordfish" not in " ".join(map(str, check_file(path)))


def test_the_shelf_of_drills_is_not_stopped_by_what_is_no_file(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "mine.yaml").write_bytes(DRILL)
    assert [each.path.name for each in shelf(tmp_path) if each.own] == ["mine.yaml"]


# -- tables ---------------------------------------------------------------------------------------------


ROSTER = b'number,name\n7,Alder\n8,Birch\n9,"Ceder, C."\n'
QUESTIONS = b"file,call,callsign,altitude_ft\na.wav,gear_report,SABLE 21,2000\nb.wav,initial,SABLE 21,\n"
SIGNS = [b",", b'"', b"\n", b"\r", b";", b"\0", b"\xff", b"=1+1", b"../../x", b"'"]


@examples(150)
@given(spoilt=spoilt_bytes(ROSTER) | st.lists(st.sampled_from(SIGNS) | st.binary(max_size=6)).map(b"".join))
def test_a_spoilt_roster(tmp_path: Path, spoilt: bytes) -> None:
    path = tmp_path / "roster.csv"
    path.write_bytes(spoilt)
    found = refused_or_read(lambda: read_roster(path), (TrainerError,))
    assert isinstance(found, TrainerError) or all(each.key.isprintable() for each in found)


@examples(150)
@given(
    spoilt=spoilt_bytes(QUESTIONS) | st.lists(st.sampled_from(SIGNS) | st.binary(max_size=6)).map(b"".join)
)
def test_a_spoilt_list_of_questions(tmp_path: Path, spoilt: bytes) -> None:
    (tmp_path / LIST).write_bytes(spoilt)
    refused_or_read(lambda: listed_questions(tmp_path), (TrainerError,))


def test_a_roster_too_large_or_none_is_refused_soon(tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    for text in (b"name\n" + b"a" * 200_000, b"name\n" + b"x\n" * 3_000_000, b"name," * 100_000):
        path.write_bytes(text)
        assert isinstance(refused_or_read(lambda: read_roster(path), (TrainerError,)), TrainerError)
    for none in (tmp_path / "missing.csv", tmp_path):
        assert isinstance(refused_or_read(lambda none=none: read_roster(none), (TrainerError,)), TrainerError)


@examples(150)
@given(text=st.sampled_from(NASTY_TEXTS) | st.text(st.sampled_from("=+-@\t\r\n ＝'\"a,;1"), max_size=12))
def test_no_cell_of_a_table_is_a_formula(text: str) -> None:
    """OWASP, "CSV Injection": a cell must not begin with one of = + - @ tab or return, quoted or not."""
    import csv

    (_, (cell,)) = csv.reader(io.StringIO(csv_text(["a"], [[text]]), newline=""))
    assert not cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))


# -- sounds ---------------------------------------------------------------------------------------------


def sound(kind: str) -> bytes:
    out = io.BytesIO()
    soundfile.write(out, np.zeros(800, np.int16), 16_000, format=kind, subtype="PCM_16")
    return out.getvalue()


@examples(150)
@given(spoilt=spoilt_bytes(sound("WAV")) | spoilt_bytes(sound("WAV")[:60]) | spoilt_bytes(sound("FLAC")))
def test_a_spoilt_sound(tmp_path: Path, spoilt: bytes) -> None:
    for path in (tmp_path / "a.wav", tmp_path / "a.flac"):
        path.write_bytes(spoilt)
        refused_or_read(lambda path=path: read_call(path), (VoiceError,))
        refused_or_read(lambda path=path: piece(path, 0.01, 0.02), (LogbookError,))


def test_a_header_that_promises_gigabytes_takes_no_memory(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes(bytes(1600))
    whole = bytearray(path.read_bytes())
    for size in (0x7FFE_FFFE, 0xFFFF_FFFE):
        whole[40:44] = size.to_bytes(4, "little")
        path.write_bytes(whole)
        refused_or_read(lambda: read_call(path), (VoiceError,))
        refused_or_read(lambda: piece(path, 0.0, 1e6), (LogbookError,))


# -- what the program keeps -------------------------------------------------------------------------------

SETTINGS = Settings(model="small", difficulty=40, last=Choice(), recordings="wav").model_dump()
CALIBRATION = Calibration(Verdict.GOOD, "fine", -60.0, -20.0, -6.0, 0.0, 3.0, 2.5).as_json()
CLASS = {
    "version": 1,
    "students": [{"name": "Alder", "number": "7"}],
    "drills": [{"drill": "a", "title": "A"}],
}
CORRECTION = [{"session": 1, "call": 1, "event": 3, "element": "gear", "was": "missing", "was_severity": "critical",
               "now": "right", "now_severity": "none", "reason": "heard", "made": "2026-01-31"}]  # fmt: skip
DEEP = b"[" * 100_000


def as_bytes(value: Any) -> st.SearchStrategy[bytes]:
    return (
        spoilt_value(value).map(lambda made: json.dumps(made).encode())
        | spoilt_bytes(json.dumps(value).encode())
        | st.just(DEEP)
    )


@examples(150)
@given(spoilt=as_bytes(SETTINGS))
def test_spoilt_settings_are_the_usual_ones_and_a_sentence(data: Path, spoilt: bytes) -> None:
    settings_file().write_bytes(spoilt)
    found, notice = refused_or_read(load_settings, ())
    assert isinstance(found, Settings)
    assert notice is None or str(settings_file()) in notice
    refused_or_read(installed_models, (TrainerError,))


@examples(100)
@given(spoilt=as_bytes(CALIBRATION))
def test_a_spoilt_calibration_is_a_sentence(data: Path, spoilt: bytes) -> None:
    (data / microphone_check.FILE).write_bytes(spoilt)
    refused_or_read(microphone_check.kept, ())


@examples(100)
@given(spoilt=as_bytes(CLASS), corrected=as_bytes(CORRECTION))
def test_a_spoilt_class_is_a_sentence(data: Path, spoilt: bytes, corrected: bytes) -> None:
    folder = data / "classes" / "a"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "class.json").write_bytes(json.dumps(CLASS).encode())
    (folder / "corrections.json").write_bytes(corrected)
    room = open_class("a")
    refused_or_read(lambda: corrections(room), (TrainerError,))
    (folder / "class.json").write_bytes(spoilt)
    refused_or_read(lambda: open_class("a"), (TrainerError,))


@examples(100)
@given(spoilt=as_bytes({"key": "k", "file": "a", "problem": None, "assessment": None}))
def test_a_spoilt_ledger_of_grades_is_a_sentence(tmp_path: Path, spoilt: bytes) -> None:
    path = tmp_path / "grades.jsonl"
    path.write_bytes(spoilt + b"\n")
    refused_or_read(lambda: Ledger.open(path), (TrainerError,))


@pytest.mark.parametrize("name", [text for text in NASTY_TEXTS if text not in ("con", "NaN", "1e999")])
def test_a_class_has_no_name_that_leads_elsewhere(data: Path, name: str) -> None:
    with pytest.raises(TrainerError, match="cannot be the name"):
        new_class(name)
    assert list(data.iterdir()) == []


# -- models ---------------------------------------------------------------------------------------------


def model_of(folder: Path, change: Callable[[Path], None]) -> Path:
    """A model's small files as ours, one of them changed; nothing is loaded."""
    for name in (
        "am/final.mdl",
        "conf/mfcc.conf",
        "graph/HCLr.fst",
        "graph/Gr.fst",
        "manifest.sha256",
        "lexicon.txt",
    ):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"\0B<Priors> FV \x04\0\0\0\0" if name == "am/final.mdl" else b"x\n")
    change(folder)
    return folder


def write(name: str, content: bytes) -> Callable[[Path], None]:
    return lambda folder: (folder / name).write_bytes(content) and None


MODELS = {
    "manifest: no text": write("manifest.sha256", b"\xff\xfe"),
    "manifest: one word a line": write("manifest.sha256", b"abc\n"),
    "manifest: empty line": write("manifest.sha256", b"\n"),
    "manifest: leads outside": write("manifest.sha256", b"0" * 64 + b"  ../../../../etc/passwd\n"),
    "manifest: zero byte": write("manifest.sha256", b"0" * 64 + b"  a\0b\n"),
    "network: the mark at its end": write("am/final.mdl", b"\0B<Priors> FV \x04"),
    "network: less than promised": write("am/final.mdl", b"\0B<Priors> FV \x04\xff\xff\xff\x7f"),
    "network: negative": write("am/final.mdl", b"\0B<Priors> FV \x04\xff\xff\xff\xff"),
    "network: empty": write("am/final.mdl", b""),
    "settings: a folder": lambda folder: (folder / "conf/mfcc.conf").unlink() or (folder / "conf/mfcc.conf").mkdir(),
}  # fmt: skip


@pytest.mark.parametrize("kind", MODELS)
def test_a_spoilt_model_is_a_sentence(kind: str, data: Path) -> None:
    folder = model_of(data / "models" / "mine", MODELS[kind])
    check = check_manifest if kind.startswith("manifest") else check_model_files
    assert isinstance(refused_or_read(lambda: check(folder), (EarsError,)), EarsError)
    assert refused_or_read(installed_models, ())


@examples(60)
@given(spoilt=spoilt_bytes((SHIPPED_MODEL / "manifest.sha256").read_bytes()))
def test_a_spoilt_manifest(tmp_path: Path, spoilt: bytes) -> None:
    (tmp_path / "manifest.sha256").write_bytes(spoilt)
    refused_or_read(lambda: check_manifest(tmp_path), (EarsError,))
