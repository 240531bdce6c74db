"""What `fuzzing.py` and the reading for it have found, each once: the input that did harm, and what it gets now."""

import ast
import contextlib
import io
import json
import sqlite3
import struct
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest
import soundfile

from trainer.commands.logbook import export, list_sessions, show_progress, show_session
from trainer.ears.errors import FetchError
from trainer.ears.fetch import unpack
from trainer.errors import TrainerError
from trainer.logbook import schema
from trainer.logbook.errors import LogbookError
from trainer.logbook.keeping import Which, back_up, delete
from trainer.logbook.locations import VARIABLE
from trainer.logbook.recordings import piece
from trainer.logbook.store import FILE_NAME, Logbook
from trainer.school.ledger import Ledger
from voices.any_wav import read_any_wav
from voices.errors import VoiceError
from voices.wav import read_wav

ROOT = Path(__file__).parents[2]
STARTED = "2026-01-31T18:00:00+00:00"
ROW = {"key": "k", "file": "a.wav", "problem": None, "assessment": None, "was": None}


def read_any(path: Path) -> object:
    return read_any_wav(path, 60.0)


# -- a logbook from elsewhere ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "named", ["{outside}/letter.txt", "{outside}/song.wav", "../outside/song.wav", "logbook.sqlite3"]
)
def test_what_a_logbook_calls_its_recording_is_not_deleted_or_packed_elsewhere(
    tmp_path: Path, named: str
) -> None:
    """A restored logbook named any file of its user as a recording: deleting the session deleted it."""
    outside = tmp_path / "outside"
    outside.mkdir()
    for name in ("letter.txt", "song.wav"):
        (outside / name).write_text("mine")
    with Logbook.open(tmp_path / "data") as logbook:
        number = logbook.start_session({}, STARTED)
        logbook.recording_is(number, Path(named.format(outside=outside)))
        assert back_up(logbook, tmp_path / "out.zip") == 0
        assert delete(logbook, logbook.sessions()) == 0
    assert {path.name for path in outside.iterdir()} == {"letter.txt", "song.wav"}
    assert (tmp_path / "data" / FILE_NAME).exists()


@pytest.mark.parametrize(
    ("meta", "event"),
    [
        ({}, {"event": "TraineeSpoke", "call": 7, "elements": [], "score": 1, "accepted": True, "critical": []}),
        ({}, {"event": "TraineeSpoke", "call": "initial", "elements": None}),
        ({}, {"event": "TraineeSpoke", "call": "initial", "elements": [{}], "score": 1}),
        ({}, {"event": "TraineeSpoke", "call": "initial", "elements": [], "score": 10**30, "accepted": 1, "critical": []}),
        ({}, {"event": "CallMissed", "call": "\ud800"}),
        ({}, ["no event"]),
        (None, {"event": "CallMissed", "call": "initial"}),
    ],
)  # fmt: skip
def test_an_old_logbook_with_a_spoilt_row_is_a_sentence(tmp_path: Path, meta: Any, event: Any) -> None:
    """Bringing its tables up to date ended in a TypeError, KeyError, AttributeError or OverflowError."""
    database = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
    for step in schema.MIGRATIONS[0]:
        database.execute(str(step))
    database.execute("PRAGMA user_version = 1")
    database.execute("INSERT INTO sessions VALUES (1, ?, ?, NULL, NULL)", (STARTED, json.dumps(meta)))
    database.execute(
        "INSERT INTO events (session, at, event, body) VALUES (1, 0, 'CallMissed', ?)", (json.dumps(event),)
    )
    database.close()
    with pytest.raises(LogbookError):
        Logbook.open(tmp_path)


def test_going_on_with_a_session_whose_rows_are_spoilt_is_a_sentence(tmp_path: Path) -> None:
    with Logbook.open(tmp_path) as logbook:
        logbook.start_session({}, STARTED)
    with contextlib.closing(sqlite3.connect(tmp_path / FILE_NAME)) as database:
        body = json.dumps({"event": "TraineeSpoke", "call": 7})
        database.execute(
            "INSERT INTO events (session, at, event, body) VALUES (1, 0, 'TraineeSpoke', ?)", (body,)
        )
        database.commit()
    with Logbook.open(tmp_path) as logbook, pytest.raises(LogbookError):
        logbook.write(1, {"event": "CallMissed", "at": 1.0, "call": "initial"})


@pytest.mark.parametrize(
    "meta", [{"title": False}, {"demo": 7}, {"title": "a", "callsign": 1.5}, {"field": {}}]
)
def test_a_session_whose_title_is_no_text_is_listed(
    tmp_path: Path, meta: dict[str, Any], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    with Logbook.open(tmp_path) as logbook:
        logbook.start_session(meta, STARTED)
    assert list_sessions(Which(), as_json=False) == 0
    assert "1 session" in capsys.readouterr().out


@pytest.mark.parametrize("form", ["csv", "json"])
@pytest.mark.parametrize("name", ["out", None])
def test_half_a_character_can_be_exported(
    tmp_path: Path, form: Literal["csv", "json"], name: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """JSON can hold half a pair, which no file and no terminal takes: a UnicodeEncodeError."""
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    with Logbook.open(tmp_path) as logbook:
        number = logbook.start_session({"field": "\ud800"}, STARTED)
        logbook.write(number, {"event": "CallMissed", "at": 1.0, "call": "initial", "note": "\ud800"})
    with contextlib.redirect_stdout(io.TextIOWrapper(io.BytesIO(), "utf-8")):
        assert export(Which(), tmp_path / name if name else None, form) == 0


def test_no_line_of_a_session_is_obeyed_by_a_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its title was looked at; its date, what was heard and a rule were printed as they came."""
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    bad = "\x1b]0;x\x07"
    mark = {
        "element": f"gear{bad}",
        "verdict": "wrong",
        "severity": "major",
        "rule": f"rule{bad}",
        "expected": "a",
        "heard": bad,
    }
    with Logbook.open(tmp_path) as logbook:
        number = logbook.start_session({"title": bad, "callsign": bad}, bad)
        spoke = {"event": "TraineeSpoke", "at": 1.0, "call": "gear_report", "score": 1, "accepted": False,
                 "critical": [], "elements": [mark], "heard": f"heard{bad}"}  # fmt: skip
        logbook.write(number, spoke)
    list_sessions(Which(), as_json=False)
    show_session(None, as_json=False)
    show_progress(as_json=False)
    said = capsys.readouterr().out
    assert "rule" in said
    assert said.replace("\n", "").isprintable()


@pytest.mark.parametrize("title", ["=1+1", " =1+1", "＝1+1", "\n@a", "\t-1"])
def test_an_exported_table_holds_no_formula(
    tmp_path: Path, title: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The logbook's table had a check of its own, without spaces before, a new line and the wide signs."""
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    with Logbook.open(tmp_path) as logbook:
        number = logbook.start_session({"title": title}, STARTED)
        logbook.write(number, {"event": "CallMissed", "at": 1.0, "call": "initial"})
    export(Which(), None, "csv")
    assert f"'{title}" in capsys.readouterr().out


# -- sounds whose header promises more than there is ----------------------------------------------------------


def promising(header: str, value: int) -> bytes:
    """A WAV file of 100 samples, one of the sizes in its header another."""
    whole = bytearray(struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 236, b"WAVE", b"fmt ", 16, 1, 1, 16_000, 32_000, 2, 16,
                                  b"data", 200) + bytes(200))  # fmt: skip
    struct.pack_into("<I", whole, {"format": 16, "data": 40}[header], value)
    return bytes(whole)


@pytest.mark.parametrize("header", ["format", "data"])
@pytest.mark.parametrize("read", [read_any, read_wav])
def test_no_room_is_asked_for_what_a_header_promises(
    tmp_path: Path, header: str, read: Callable[[Path], object]
) -> None:
    """4 GB were asked for at once: a MemoryError wherever memory is limited."""
    path = tmp_path / "a.wav"
    path.write_bytes(promising(header, 0xFFFF_FFF0))
    tracemalloc.start()
    try:
        with contextlib.suppress(VoiceError):
            read(path)
        assert tracemalloc.get_traced_memory()[1] < 20_000_000
    finally:
        tracemalloc.stop()


def test_a_chunk_that_ends_outside_the_file_is_a_sentence(tmp_path: Path) -> None:
    """The library's RuntimeError, without a word."""
    path = tmp_path / "a.wav"
    whole = promising("data", 200)
    path.write_bytes(whole[:12] + struct.pack("<4sI", b"fEfm", 0x0010_2074) + whole[12:])
    with pytest.raises(VoiceError, match="16-bit WAV"):
        read_wav(path)


def test_a_recording_that_promises_days_takes_no_memory(tmp_path: Path) -> None:
    """FLAC's STREAMINFO counts the samples in 36 bits (RFC 9639, 8.2)."""
    path = tmp_path / "a.flac"
    soundfile.write(path, np.zeros(800, np.int16), 16_000, subtype="PCM_16")
    whole = bytearray(path.read_bytes())
    whole[21] |= 0x0F
    whole[22:26] = b"\xff" * 4
    path.write_bytes(whole)
    tracemalloc.start()
    try:
        with contextlib.suppress(LogbookError):
            piece(path, 0.0, 1e7)
        assert tracemalloc.get_traced_memory()[1] < 20_000_000
    finally:
        tracemalloc.stop()


# -- grades, archives, markup -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "change",
    [{"file": 1}, {"assessment": {}}, {"assessment": "x"}, {"was": {"accepted": True}}, {"problem": {}}, {"text": ["="]}],
)  # fmt: skip
def test_a_line_of_grades_that_lacks_what_is_read_is_refused(tmp_path: Path, change: dict[str, Any]) -> None:
    """A KeyError when the table was written; `grades.jsonl` lies in a folder that others hand in."""
    path = tmp_path / "grades.jsonl"
    path.write_text(json.dumps(ROW) + "\n")
    Ledger.open(path)
    path.write_text(json.dumps(ROW | change) + "\n")
    with pytest.raises(TrainerError, match="line 1"):
        Ledger.open(path)


def archive(method: int, *names: str) -> bytearray:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as pack:
        for name in names:
            pack.writestr(name, bytes(range(256)) * 4)
    return bytearray(out.getvalue())


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_a_model_whose_packing_is_damaged_is_a_sentence(tmp_path: Path, method: int) -> None:
    """zlib raises errors of its own."""
    whole = archive(method, "model/a")
    whole[60:90] = b"\xff" * 30
    (tmp_path / "a.zip").write_bytes(whole)
    with pytest.raises(FetchError):
        unpack(tmp_path / "a.zip", tmp_path / "out")


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_model_is_packed_as_models_are(tmp_path: Path, method: int) -> None:
    """A MemoryError: lzma takes as much memory as a damaged archive asks for."""
    (tmp_path / "a.zip").write_bytes(archive(method, "model/a"))
    with pytest.raises(FetchError):
        unpack(tmp_path / "a.zip", tmp_path / "out")


def test_a_model_with_a_file_without_a_name_is_a_sentence(tmp_path: Path) -> None:
    """An IndexError of the library in Python 3.11."""
    (tmp_path / "a.zip").write_bytes(archive(zipfile.ZIP_STORED, "model/a").replace(b"model/a", b"\0odel/a"))
    with pytest.raises(FetchError):
        unpack(tmp_path / "a.zip", tmp_path / "out")


@pytest.mark.parametrize(
    "names", [("model/a", "model/a/b"), ("model/" + "a" * 300,), ("../escaped/a",), ("C:\\a",), ("/a/b",)]
)
def test_a_model_with_names_that_cannot_be_is_a_sentence_and_writes_nothing_outside(
    tmp_path: Path, names: tuple[str, ...]
) -> None:
    (tmp_path / "a.zip").write_bytes(archive(zipfile.ZIP_STORED, *names))
    with pytest.raises(FetchError):
        unpack(tmp_path / "a.zip", tmp_path / "in" / "out")
    assert {path.name for path in tmp_path.iterdir()} <= {"a.zip", "in"}


def test_no_xml_is_read_anywhere() -> None:
    """So no XML bomb can be: of the library's XML only what escapes text is used."""
    for folder in ("phraseology", "voices", "drills", "trainer"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_bytes())):
                names = [each.name for each in node.names] if isinstance(node, ast.Import) else []
                names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
                for name in names:
                    assert (
                        name.split(".")[0] not in ("xml", "lxml", "defusedxml") or name == "xml.sax.saxutils"
                    ), path
