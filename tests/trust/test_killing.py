"""kill -9 in the short form, that what it looks for is found, and what is to happen where something dies inside.

The long form is `python tests/trust/killing.py 300`.
"""

import os
import re
import select
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from phraseology.heard import Heard
from tests.screens.conftest import Flown, OneWord, RoomTone, take_off
from tests.trust.left_behind import logbook_faults
from trainer.debrief.debriefing import debrief
from trainer.ears.recogniser import Block
from trainer.live.book import FlightBook
from trainer.live.hearing import EarsEvent, EarsLost, Hearing, TraineeKeyed, TraineeSaid
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import FILE_NAME, Logbook
from trainer.scratch import PREFIX
from voices.worker import GRACE_S

ROOT = Path(__file__).parents[2]
linux = pytest.mark.skipif(sys.platform != "linux", reason="processes are looked up in /proc")
SPEECH = np.tile(np.array([900, -900], np.int16), 12_000)


@linux
def test_six_flights_are_killed_and_nothing_is_lost_or_left() -> None:
    run = subprocess.run(
        [sys.executable, "tests/trust/killing.py", "6", "5", "1"],
        cwd=ROOT, capture_output=True, text=True, timeout=900,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    told = re.search(r"6 flights killed, .* (\d+) calls completed, (\d+) spoken; 0 with a fault", run.stdout)
    assert told, run.stdout
    assert int(told[1]) > int(told[2]) > 0, "neither typed nor spoken calls may be lacking"


# -- what the kills look for is found ------------------------------------------------------------------------


def flown_and_kept(folder: Path) -> list[tuple[int, str]]:
    """A flight with one spoken call that did not end in order; its events."""
    flight = take_off(folder)
    (folder / "recordings").mkdir()
    recording = SessionRecording(folder / "recordings" / "a.wav")
    number = flight.live.book.session_id
    flight.live.book = FlightBook(flight.logbook, number, recording, flight.live.notices.append)
    words = flight.until_due()
    flight.live.hear(TraineeKeyed())
    heard = Heard.typed(words)
    flight.live.hear(TraineeSaid(Heard(heard.words), SPEECH))
    seen = flight.logbook.rows("SELECT id, body FROM events")
    flight.logbook.close()
    return [(number, body) for number, body in seen]


def sql(words: str) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        with Logbook.open(folder) as logbook:
            logbook._connection.execute("PRAGMA foreign_keys = OFF")
            logbook._connection.execute(words)

    return change


def cut(name: str, kept: float) -> Callable[[Path], None]:
    return lambda folder: os.truncate(folder / name, int(kept * (folder / name).stat().st_size))


WAV = "recordings/a.wav"
LOSSES: dict[str, tuple[Callable[[Path], None], str]] = {
    "an event": (sql("DELETE FROM events WHERE event = 'Arrived'"), "event 1 is lost"),
    "the marks": (sql("DELETE FROM marks"), "has 1 rows and 0 of"),
    "the call's row": (sql("DELETE FROM calls"), "has 0 rows"),
    "the clip": (sql("DELETE FROM clips WHERE station = 'SABLE 21'"), "the sound of the call of .* is lost"),
    "half the recording": (cut(WAV, 0.5), "samples"),
    "the recording": (lambda folder: (folder / WAV).unlink(), "the recording of session 1 is lost"),
    "the header": (cut(WAV, 0.0), "does not play"),
    "the logbook": (lambda folder: (folder / FILE_NAME).write_bytes(b"x" * 5000), "was damaged"),
}


def test_nothing_is_found_where_nothing_is_lost(tmp_path: Path) -> None:
    seen = flown_and_kept(tmp_path)
    assert logbook_faults(tmp_path, seen) == ([], 1, 1)


@pytest.mark.parametrize("loss", LOSSES)
def test_each_loss_is_found(loss: str, tmp_path: Path) -> None:
    seen = flown_and_kept(tmp_path)
    lose, sentence = LOSSES[loss]
    lose(tmp_path)
    faults, _, _ = logbook_faults(tmp_path, seen)
    assert re.search(sentence, "; ".join(faults)), faults


def test_the_wav_goes_only_when_the_logbook_names_the_flac(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def there() -> list[str]:
        return sorted(path.name for path in tmp_path.glob("a.*"))

    def name_it(session: int, path: Path | None) -> None:
        moments.append(there())
        keep(session, path)

    moments: list[list[str]] = []
    with Logbook.open(tmp_path) as logbook:
        number = logbook.start_session({}, "2025-01-31T18:00:00")
        book = FlightBook(logbook, number, SessionRecording(tmp_path / "a.wav"), print, small=True)
        book.record(SPEECH, 0.0, "tower")
        keep = logbook.recording_is
        monkeypatch.setattr(logbook, "recording_is", name_it)
        book.close()
        assert moments == [["a.flac", "a.wav"]]
        assert there() == ["a.flac"]
        (row,) = logbook.sessions()
        assert logbook.recording_path(row) == tmp_path / "a.flac"


# -- temporary files -----------------------------------------------------------------------------------------

HOLDER = "from trainer.scratch import scratch_folder; print(scratch_folder(), flush=True); input()"


def holder(folder: Path) -> "tuple[subprocess.Popen[str], Path]":
    """A process with its scratch folder under this one."""
    environment = {**os.environ, "TMPDIR": str(folder), "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER], env=environment, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )  # fmt: skip
    assert process.stdout is not None
    return process, Path(process.stdout.readline().strip())


@linux
def test_the_temporary_files_of_the_dead_are_swept_and_those_of_the_living_are_not(tmp_path: Path) -> None:
    foreign = tmp_path / f"{PREFIX}file"
    foreign.write_text("no folder")
    with holder(tmp_path)[0] as living, holder(tmp_path)[0] as dead:
        (tmp_path / "patternvoice").mkdir()
        dead.send_signal(signal.SIGKILL)
        dead.wait()
        assert len(list(tmp_path.glob(f"{PREFIX}*/"))) == 2
        with holder(tmp_path)[0] as next_one:
            left = set(tmp_path.glob(f"{PREFIX}*/"))
            assert len(left) == 2
            next_one.communicate("\n")
        living.communicate("\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["patternvoice", foreign.name]


@linux
def test_a_voice_worker_ends_when_its_parent_is_killed(tmp_path: Path) -> None:
    code = (
        "from pathlib import Path; from trainer import compose;"
        "(speaker := compose.open_speaker()).voices();"
        "print(*[each.worker_pid for each in speaker._speakers], flush=True); input()"
    )
    environment = {
        **os.environ, "TMPDIR": str(tmp_path), "PATTERNVOICE_DATA": str(tmp_path / "data"), "PYTHONPATH": str(ROOT),
    }  # fmt: skip
    with subprocess.Popen(
        [sys.executable, "-c", code],
        env=environment,
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as parent:
        assert parent.stdout is not None
        workers = [os.pidfd_open(int(pid)) for pid in parent.stdout.readline().split() if pid != "None"]
        assert workers
        parent.kill()
        parent.wait()
    for worker in workers:
        assert select.select([worker], [], [], 10 * GRACE_S)[0], "it is still there"
        os.close(worker)


# -- the recogniser fails: it is a part of this process, so it cannot be killed alone --------------------------


class Crashing(OneWord):
    """A `Recogniser` at the boundary whose engine fails where it is told to."""

    def __init__(self, where: str) -> None:
        super().__init__()
        self._where = where

    def _fails(self, where: str) -> None:
        if where == self._where:
            raise Exception("Failed to create a recognizer")  # as vosk does: of this very class

    def key_on(self) -> None:
        self._fails("key_on")
        super().key_on()

    def block(self, samples: Block) -> None:
        self._fails("block")
        super().block(samples)

    def key_off(self) -> Heard:
        self._fails("key_off")
        return super().key_off()


@pytest.mark.parametrize("where", ["key_on", "block", "key_off"])
def test_a_recogniser_that_fails_is_told_once_and_the_flight_goes_on_typed(
    where: str, tmp_path: Path
) -> None:
    flight = take_off(tmp_path)
    live = flight.live
    flight.until_due()
    posted: list[EarsEvent] = []
    live.hearing = Hearing(
        RoomTone(), Crashing(where), lambda: live.situation, lambda: live.muted, posted.append
    )
    live.press()  # a call however the room sounds
    if where == "key_off":
        live.release()
    live.hearing.start()
    live.hearing.join()
    assert isinstance(posted[-1], EarsLost)
    for event in posted:
        live.hear(event)
    live.press()
    live.release()
    first, *others = live.notices
    assert "Failed to create a recognizer" in first
    assert first.endswith("Type the calls.")
    assert all(each.startswith("No microphone") for each in others)
    flies_on(flight)
    flight.close()
    with Logbook.open(tmp_path) as logbook:
        kept = debrief(logbook, live.book.session_id)
    assert len(kept.calls) == len(live.calls) >= 1


def flies_on(flight: Flown) -> None:
    """The session goes on to its next call and takes it."""
    calls = len(flight.live.calls)
    flight.live.typed(flight.until_due())
    flight.until(lambda: len(flight.live.calls) > calls)
    assert len(flight.live.calls) > calls
