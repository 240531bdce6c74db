"""What may go wrong around a flight: what is expected, and that it is so; DEVELOPERS.md has the table. In other files:
an output that goes and comes back (`tests/screens/test_live_sound.py`), SIGTERM, SIGHUP and SIGINT
(`tests/screens/test_fly_in_a_terminal.py`), the microphone on a real sound server (`tests/sound`)."""

import errno
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from phraseology.heard import Heard
from tests.screens.conftest import Flown, OneWord, RoomTone, take_off
from trainer.debrief.debriefing import debrief
from trainer.ears.errors import MicrophoneError
from trainer.ears.microphone import CapturedBlock
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest
from trainer.errors import KNOWN_ERRORS
from trainer.live.book import FlightBook
from trainer.live.hearing import BACK, EarsEvent, Hearing
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


class Headset(RoomTone):
    """A `Microphone` at the boundary that can be unplugged."""

    plugged = True

    def start(self) -> None:
        if not self.plugged:
            raise MicrophoneError("there is no microphone", "plug it in again")

    def read(self, timeout: float) -> CapturedBlock | None:
        if not self.plugged:
            raise MicrophoneError("the microphone has gone", "plug it in again")
        time.sleep(min(timeout, 0.001))
        return super().read(timeout)


class Fragile(OneWord):
    """A `Recogniser` at the boundary that fails at the end of the first call."""

    def key_off(self) -> Heard:
        raise RuntimeError("the decoder has failed")


class WithEars:
    """A flight whose ears run on their thread; what they tell comes to the session by `until`."""

    def __init__(self, flight: Flown, headset: Headset, ears: OneWord) -> None:
        self.flight, self.headset = flight, headset
        self._told: queue.Queue[EarsEvent] = queue.Queue()

        def reopen() -> Headset:
            headset.start()
            return headset

        self.hearing = Hearing(
            headset,
            ears,
            lambda: flight.live.situation,
            lambda: flight.live.muted,
            self._told.put,
            reopen=reopen,
            wait=lambda _: time.sleep(0.01) is not None,
        )
        flight.live.hearing, flight.live.no_microphone = self.hearing, None
        self.hearing.start()

    def until(self, so: Callable[[], bool]) -> None:
        while not so():
            self.flight.live.hear(self._told.get(timeout=120))


def test_a_microphone_unplugged_in_mid_call_is_told_once_and_heard_again_when_it_is_back(
    tmp_path: Path,
) -> None:
    flight = take_off(tmp_path)
    try:
        flown = WithEars(flight, Headset(), OneWord())
        live = flight.live
        flight.until_due()
        live.press()
        flown.until(lambda: live.keyed)
        flown.headset.plugged = False
        flown.until(lambda: live.hearing is None)
        assert not live.keyed
        assert live.calls == [], "half a call is not marked down"
        assert told(flight).startswith("the microphone has gone: plug it in again. Type the calls")
        flies_on(flight)
        flown.headset.plugged = True
        flown.until(lambda: live.hearing is not None)
        assert list(live.notices)[1:] == [BACK]
        assert live.no_microphone is None
        calls = len(live.calls)
        flight.until_due()
        live.press()
        flown.until(lambda: live.keyed)
        live.release()
        flown.until(lambda: len(live.calls) > calls)
        assert live.calls[-1].heard.text == "roger"  # type: ignore[union-attr]
    finally:
        flight.close()


def test_a_microphone_that_stays_away_does_not_hold_up_the_end(tmp_path: Path) -> None:
    flight = take_off(tmp_path)
    flown = WithEars(flight, Headset(), OneWord())
    flown.headset.plugged = False
    flown.until(lambda: flight.live.hearing is None)
    flight.close()
    flown.hearing.join(10)
    assert not [each for each in threading.enumerate() if each.name == "hearing"]


def test_a_recogniser_that_fails_is_told_once_and_the_flight_goes_on_typed(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    flight = take_off(tmp_path)
    try:
        flown = WithEars(flight, Headset(), Fragile())
        flight.until_due()
        flight.live.press()
        flown.until(lambda: flight.live.keyed)
        flight.live.release()
        flown.until(lambda: flight.live.hearing is None)
        assert (
            told(flight) == "The ears have failed (RuntimeError('the decoder has failed')). Type the calls."
        )
        for _ in range(2):
            flies_on(flight)
    finally:
        flight.close()
    assert "the decoder has failed" in capfd.readouterr().err, "the log has where"


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


@pytest.mark.parametrize(
    ("data", "home"), [(Path("/proc/patternvoice"), "/root"), (None, "/proc")], ids=["data folder", "home"]
)
def test_a_read_only_home_is_one_sentence(data: Path | None, home: str) -> None:
    """/proc takes no folder, not even of root."""
    for words in (("logbook", "list"), ("logbook", "export"), ("progress",)):
        done = command(data, *words, HOME=home, XDG_DATA_HOME="", PATTERNVOICE_DATA=str(data or ""))
        assert (done.returncode, done.stderr.count("\n")) == (2, 1), done.stderr
        assert "/proc/" in done.stderr


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
