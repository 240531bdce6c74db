"""What may go wrong around a flight: what is expected, and that it is so. More of single parts: `tests/logbook`,
`tests/voices`, `tests/screens/test_live_sound.py`, `test_fly_in_a_terminal.py` (SIGTERM, SIGHUP, SIGINT)."""

import errno
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.screens.conftest import Flown, take_off
from trainer.debrief.debriefing import debrief
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest
from trainer.errors import KNOWN_ERRORS
from trainer.live.book import FlightBook
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import FILE_NAME, Logbook

ROOT = Path(__file__).parents[2]


def command(data: Path | None, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A command as from a shell, with this environment besides; a name with "" is taken out."""
    env = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        **({"PATTERNVOICE_DATA": str(data)} if data else {}),
        **environment,
    }
    env = {name: value for name, value in env.items() if value}
    program = [sys.executable, "-c", "from trainer.cli import main; main()", *words]
    return subprocess.run(program, capture_output=True, text=True, encoding="utf-8", env=env, timeout=120)


def flies_on(flight: Flown) -> None:
    """The session goes on to its next call and takes it."""
    calls = len(flight.live.calls)
    flight.live.typed(flight.until_due())
    flight.until(lambda: len(flight.live.calls) > calls)
    assert len(flight.live.calls) > calls


def told(flight: Flown) -> str:
    (sentence,) = flight.live.notices
    return sentence


# -- while flying: the fault, and the words that are told once; the flight goes on -------------------------


def full_disk(*_: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def disk_full_while_recording(flight: Flown, folder: Path, patch: pytest.MonkeyPatch) -> None:
    recording = SessionRecording(folder / "a.wav")
    notices = flight.live.notices
    flight.live.book = FlightBook(flight.logbook, flight.live.book.session_id, recording, notices.append)
    recording.append(np.ones(100, np.int16), 0.0)
    patch.setattr(recording._wave, "writeframes", full_disk)


def disk_full_for_the_logbook(flight: Flown, folder: Path, patch: pytest.MonkeyPatch) -> None:
    flight.logbook._connection.execute("PRAGMA max_page_count = 1")
    (pages,) = flight.logbook._connection.execute("PRAGMA page_count").fetchone()
    flight.logbook._connection.execute(f"PRAGMA max_page_count = {pages}")


def another_program_holds_the_logbook(flight: Flown, folder: Path, patch: pytest.MonkeyPatch) -> None:
    flight.logbook._connection.execute("PRAGMA busy_timeout = 50")
    other = Logbook.open(folder)
    other._connection.execute("BEGIN IMMEDIATE")
    patch.setattr(flight, "holder", other, raising=False)


FAULTS: dict[str, tuple[Callable[[Flown, Path, pytest.MonkeyPatch], None], str]] = {
    "disk full while recording": (disk_full_while_recording, "No space left on device"),
    "disk full for the logbook": (disk_full_for_the_logbook, "the disk is full"),
    "the logbook is held": (another_program_holds_the_logbook, "another program is writing to it"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_it_is_told_once_and_the_flight_goes_on(
    fault: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    happen, words = FAULTS[fault]
    flight = take_off(tmp_path)
    try:
        flies_on(flight)
        happen(flight, tmp_path, monkeypatch)
        for _ in range(3):
            flies_on(flight)
        assert words in told(flight)
        assert len(flight.live.calls) >= 4
    finally:
        flight.close()


def test_a_clock_that_jumps_moves_neither_the_session_nor_its_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A gap (a sleeping laptop) is one tick of at most a second; the wall's date is not looked at."""
    flight = take_off(tmp_path, pace="real")
    try:
        before = flight.live.session.now
        monkeypatch.setattr(time, "time", lambda: 0.0)
        flight.live.tick(8 * 3600.0)
        assert flight.live.session.now - before <= 1.0
        flight.live.tick(-5.0)
        assert flight.live.session.now >= before
        flies_on(flight)
        times = [event["at"] for event in flight.logbook.events(flight.live.book.session_id)]
        assert times == sorted(times)
    finally:
        flight.close()


def test_two_at_once_write_into_one_logbook(tmp_path: Path) -> None:
    first, second = take_off(tmp_path), take_off(tmp_path)
    try:
        for _ in range(2):
            flies_on(first)
            flies_on(second)
        assert not first.live.notices
        assert not second.live.notices
    finally:
        first.close()
        second.close()
    with Logbook.open(tmp_path) as logbook:
        assert [len(debrief(logbook, row.id).calls) >= 2 for row in logbook.sessions()] == [True, True]


# -- where it is started: status, and what is said ----------------------------------------------------------


def test_no_home_and_no_locale(tmp_path: Path) -> None:
    folder = tmp_path / "with spaces ü 日本"
    for data, environment in (
        (folder, {"LC_ALL": "C", "PYTHONUTF8": "0"}),
        (folder, {"HOME": "", "XDG_DATA_HOME": ""}),
        (None, {"HOME": "", "XDG_DATA_HOME": str(folder), "PATTERNVOICE_DATA": ""}),
        (None, {"HOME": "/nonexistent", "XDG_DATA_HOME": "", "PATTERNVOICE_DATA": ""}),
    ):
        done = command(data, "logbook", "list", **environment)
        assert "Traceback" not in done.stderr
        assert done.returncode in (0, 2), done.stderr
        assert done.returncode == 2 or "0 sessions" in done.stdout
    assert (folder / FILE_NAME).is_file()


def test_a_read_only_data_folder_is_one_sentence(tmp_path: Path) -> None:
    """/proc takes no folder, not even of root."""
    done = command(Path("/proc/patternvoice"), "logbook", "list")
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "/proc/patternvoice" in done.stderr


def test_a_corrupt_logbook_is_kept_a_new_one_begun_and_it_is_said(tmp_path: Path) -> None:
    spoilt = b"SQLite format 3\0" + bytes(range(256)) * 40
    (tmp_path / FILE_NAME).write_bytes(spoilt)
    done = command(tmp_path, "logbook", "list")
    assert done.returncode == 0, done.stderr
    assert "logbook-corrupt-1.sqlite3" in done.stdout
    assert (tmp_path / "logbook-corrupt-1.sqlite3").read_bytes() == spoilt


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst", "conf/mfcc.conf"])
def test_a_model_cut_short_is_one_sentence_that_names_the_file(name: str, tmp_path: Path) -> None:
    for path in SHIPPED_MODEL.rglob("*"):
        if path.is_file():
            target = tmp_path / path.relative_to(SHIPPED_MODEL)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    check_manifest(tmp_path)
    whole = (tmp_path / name).read_bytes()
    (tmp_path / name).write_bytes(whole[: len(whole) // 2])
    with pytest.raises(KNOWN_ERRORS, match="is cut short"):
        check_manifest(tmp_path)
