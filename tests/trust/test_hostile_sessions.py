"""Sessions from other machines: whatever is in the file, it is refused in a sentence, or all that reads it can."""

import contextlib
import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trust.packing import exported_session, packed, shortened
from tests.trust.spoiling import VALUES, examples, refused_or_read, spoilt_bytes, spoilt_value
from trainer.debrief.debriefing import debrief
from trainer.debrief.page import debrief_page
from trainer.errors import TrainerError
from trainer.logbook.errors import LogbookError
from trainer.logbook.locations import VARIABLE
from trainer.logbook.progress import progress
from trainer.school.classroom import Classroom, new_class
from trainer.school.collecting import Collected, collect
from trainer.school.counting import class_figures
from trainer.school.questions import question_of
from trainer.school.roster import Student
from trainer.school.session_file import MANIFEST, SESSION, read_session
from trainer.school.sheets import sheet_files


@pytest.fixture(scope="session")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A session as `class hand-in` writes it."""
    return exported_session(tmp_path_factory.mktemp("exported"))


@pytest.fixture(scope="session")
def short(exported: Path) -> dict[str, Any]:
    """What that file holds, cut to its first calls, so that it is spoilt where it matters."""
    return shortened(exported)


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Classroom:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "desk"))
    made = new_class("Autumn")
    made.set_roster([Student(number="7", name="Alder")])
    return made


def took_in(room: Classroom, folder: Path, data: bytes) -> Collected:
    """What becomes of this file; all that shows a class or a session must stand it if it is taken in."""
    folder.mkdir(exist_ok=True)
    (folder / "7_a.pvsession").write_bytes(data)
    (found,) = collect(room, folder)
    with room.logbook() as logbook:
        if found.problem is None:
            try:
                page = debrief_page(debrief(logbook, found.session))
                assert "<script>alert" not in page
            except LogbookError as error:
                assert str(error)
            progress(logbook)
            for _, text in sheet_files(class_figures(room), "today"):
                assert "<script>alert" not in text
        for row in logbook.sessions():
            logbook.forget([row.id])
    return found


def outside(folder: Path) -> set[str]:
    """All that lies in the test's folder but in the class and among the files handed in."""
    return {path.name for path in folder.iterdir()}


@examples(150)
@given(data=st.data())
def test_bytes_of_a_session_file_spoilt(exported: Path, tmp_path: Path, data: st.DataObject) -> None:
    path = tmp_path / "a.pvsession"
    path.write_bytes(data.draw(spoilt_bytes(exported.read_bytes())))
    refused_or_read(lambda: read_session(path), (TrainerError,))


@examples(150)
@given(data=st.data())
def test_bytes_of_the_session_in_it_spoilt(
    short: dict[str, Any], tmp_path: Path, data: st.DataObject
) -> None:
    path = tmp_path / "a.pvsession"
    path.write_bytes(packed(data.draw(spoilt_bytes(json.dumps(short).encode()))))
    refused_or_read(lambda: read_session(path), (TrainerError,))


@examples(150)
@given(data=st.data())
def test_values_of_a_session_spoilt(
    room: Classroom, short: dict[str, Any], tmp_path: Path, data: st.DataObject
) -> None:
    spoilt = data.draw(spoilt_value(short))
    found = refused_or_read(lambda: took_in(room, tmp_path / "in", packed(json.dumps(spoilt).encode())), ())
    assert found.problem is None or str(tmp_path) in found.problem
    assert outside(tmp_path) <= {"in", "desk"}


def changes(event: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The event without each of its keys, and with each number as a text."""
    for key, value in event.items():
        yield {name: kept for name, kept in event.items() if name != key}
        if isinstance(value, int | float) and not isinstance(value, bool):
            yield {**event, key: str(value)}


def test_an_event_that_lacks_a_key_or_has_a_text_for_a_number_is_read_or_refused(
    room: Classroom, short: dict[str, Any], tmp_path: Path
) -> None:
    """A KeyError for a call without "heard", and a TypeError for a last event at "31"."""
    refused = 0
    for place, event in enumerate(short["events"]):
        for changed in changes(event):
            events = [*short["events"][:place], changed, *short["events"][place + 1 :]]
            found = took_in(room, tmp_path / "in", packed(json.dumps({**short, "events": events}).encode()))
            refused += found.problem is not None
            if found.problem is None and "elements" in changed:
                bare = [{k: v for k, v in each.items() if k != "expected"} for each in changed["elements"]]
                with contextlib.suppress(TrainerError):
                    question_of(short["meta"], [*events[:place], {**changed, "elements": bare}], place)
    assert refused


@examples(60)
@given(data=st.data())
def test_values_of_a_manifest_spoilt(short: dict[str, Any], tmp_path: Path, data: st.DataObject) -> None:
    path = tmp_path / "a.pvsession"
    key = data.draw(st.sampled_from(["format", "version", "sha256", "more"]))
    path.write_bytes(packed(json.dumps(short).encode(), **{key: data.draw(VALUES)}))
    refused_or_read(lambda: read_session(path), (TrainerError,))


NAMES = [
    "../escaped",
    "/tmp/escaped",
    "a/../../escaped",
    "..\\escaped",
    "C:\\escaped",
    "session.json/",
    "",
    "\0x",
    "é",
]


@pytest.mark.parametrize("name", NAMES)
def test_a_member_by_another_name_is_refused_and_nothing_is_written(
    room: Classroom, short: dict[str, Any], tmp_path: Path, name: str
) -> None:
    data = io.BytesIO(packed(json.dumps(short).encode()))
    with zipfile.ZipFile(data, "a") as pack:
        pack.writestr(zipfile.ZipInfo(name), b"x")
    found = took_in(room, tmp_path / "in", data.getvalue())
    assert found.problem is not None
    assert outside(tmp_path) == {"in", "desk"}


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_way_of_packing_that_may_take_any_memory_is_refused(
    exported: Path, tmp_path: Path, method: int
) -> None:
    """A kilobyte of these unpacks at one go to what it likes."""
    path = tmp_path / "a.pvsession"
    with zipfile.ZipFile(exported) as pack, zipfile.ZipFile(path, "w", method) as out:
        for name in pack.namelist():
            out.writestr(name, pack.read(name))
    with pytest.raises(TrainerError, match="packed as no export is"):
        read_session(path)


def test_a_session_of_zeros_that_unpacks_to_a_gigabyte_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bomb.pvsession"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr(MANIFEST, "{}")
        with pack.open(SESSION, "w") as member:
            for _ in range(80):
                member.write(bytes(1_000_000))
    refused = refused_or_read(lambda: read_session(path), (TrainerError,))
    assert "too much" in str(refused)
