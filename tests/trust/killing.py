"""`fly --typed` flown by a script in a terminal of its own, and killed at a random moment; then what is left of it.

    python tests/trust/killing.py [TRIALS] [LONGEST_S] [SEED]

Each flight is a fork of this process, which has loaded the program before; in each third one its voice worker is
killed first. A trial's `faults` is empty if all is there that had been there, and nothing that should not.
"""

import os
import pty
import random
import select
import signal
import sqlite3
import sys
import tempfile
import time
import wave
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))


from trainer import cli
from trainer.debrief.debriefing import debrief
from trainer.live.start import fly  # noqa: F401
from trainer.logbook.progress import progress
from trainer.logbook.store import FILE_NAME, Logbook
from trainer.screens.app import FlightApp  # noqa: F401
from trainer.settings import Settings

AT_ONCE = 5
START_S = 30.0
"""So long a start may take on a busy machine."""
GONE_S = 15.0
"""So long a worker may take to notice that it is alone."""


@dataclass
class Flight:
    """One of the program's own processes, and what a reader of its logbook has seen."""

    folder: Path
    dies_after_s: float
    dies_at: float
    pid: int
    terminal: int
    spoils_voice: bool
    seen: list[tuple[int, str]] = field(default_factory=list)
    """Number and body of every event that was in the logbook before the kill."""
    typed: int = 0
    begun: bool = False
    worker_killed: bool = False
    children: list[int] = field(default_factory=list)

    def script(self) -> None:
        """Keep the terminal empty, type what is due, as the logbook has it."""
        while select.select([self.terminal], [], [], 0)[0]:
            with suppress(OSError):
                if os.read(self.terminal, 65536):
                    continue
            break
        with suppress(sqlite3.Error):
            kept = sqlite3.connect(f"file:{self.folder / FILE_NAME}?mode=ro", uri=True, timeout=0.1)
            try:
                last = self.seen[-1][0] if self.seen else 0
                self.seen += kept.execute(
                    "SELECT id, body FROM events WHERE id > ? ORDER BY id", (last,)
                ).fetchall()
                due = kept.execute(
                    "SELECT body ->> 'model_call' FROM events WHERE event = 'CallDue'"
                ).fetchall()
            finally:
                kept.close()
            for (words,) in due[self.typed :]:
                self.typed += 1
                os.write(self.terminal, f"{words}\r".encode())
        self.children = children(self.pid) or self.children
        if self.spoils_voice and not self.worker_killed and self.children and self.typed:
            os.kill(self.children[0], signal.SIGKILL)
            self.worker_killed = True

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)


@dataclass(frozen=True)
class Trial:
    """`calls` completed, `ended`: the session had ended before it was killed."""

    calls: int
    faults: tuple[str, ...]


def children(pid: int) -> list[int]:
    with suppress(OSError):
        return [int(each) for each in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    return []


def start(folder: Path, dies_after_s: float, *, spoils_voice: bool) -> Flight:
    """A flight in a folder of its own; all that it makes is in it."""
    for name in ("data", "tmp"):
        (folder / name).mkdir(mode=0o700)
    (folder / "data" / "settings.json").write_text(Settings(recordings="wav").model_dump_json())
    pid, terminal = pty.fork()
    if pid == 0:
        os.environ |= {
            "PATTERNVOICE_DATA": str(folder / "data"), "TMPDIR": str(folder / "tmp"), "TERM": "xterm-256color",
            "PULSE_SERVER": "unix:/nonexistent",
        }  # fmt: skip
        tempfile.tempdir = None
        sys.__stdin__, sys.__stdout__ = sys.stdin, sys.stdout = open(0), open(1, "w", buffering=1)  # noqa: SIM115
        try:
            cli.main(["fly", "--typed", "--drill", "first_flight", "--pace", "quick"])
        finally:
            os._exit(1)
    return Flight(
        folder / "data", dies_after_s, time.monotonic() + dies_after_s + START_S, pid, terminal, spoils_voice
    )


def left_of(flight: Flight) -> Trial:
    """What is wrong after the kill, as who starts again finds it."""
    faults: list[str] = []
    until = time.monotonic() + GONE_S
    temporary = flight.folder.parent / "tmp"
    while time.monotonic() < until and (any(map(is_there, flight.children)) or any(temporary.iterdir())):
        time.sleep(0.05)
    faults += [f"process {child} is left" for child in flight.children if is_there(child)]
    faults += [f"{each.name} is left" for each in temporary.iterdir()]
    calls = 0
    with Logbook.open(flight.folder) as logbook:
        if logbook.notice:
            faults.append(logbook.notice)
        kept = dict(logbook.rows("SELECT id, body FROM events"))
        faults += [f"event {number} is lost" for number, body in flight.seen if kept.get(number) != body]
        for number, body, marks, rows in logbook.rows(_CALLS):
            calls += 1
            if (body != marks) or rows != 1:
                faults.append(f"call {number} has {rows} rows and {marks} of {body} marks")
        for row in logbook.sessions():
            account = debrief(logbook, row.id)
            if len(account.calls) != calls:
                faults.append(f"{len(account.calls)} of {calls} calls in the debrief")
            faults += _unplayable(logbook.recording_path(row))
        if progress(logbook).calls != calls:
            faults.append("the progress counts other calls")
        logbook.start_session({"title": "after it"}, datetime.now().astimezone().isoformat())
    return Trial(calls, tuple(faults))


_CALLS = """
    SELECT id, CASE event WHEN 'CallMissed' THEN 0 ELSE json_array_length(body, '$.elements') END,
        (SELECT count(*) FROM marks WHERE call_id = events.id), (SELECT count(*) FROM calls WHERE id = events.id)
    FROM events WHERE event IN ('TraineeSpoke', 'CallMissed')
"""


def _unplayable(recording: Path | None) -> list[str]:
    if recording is None:
        return []
    try:
        with wave.open(str(recording), "rb") as sound:
            whole = len(sound.readframes(sound.getnframes())) == 2 * sound.getnframes()
        return [] if whole else [f"{recording.name} is cut short"]
    except (wave.Error, EOFError) as error:
        return [f"{recording.name} does not play ({error})"]


def is_there(pid: int) -> bool:
    """It runs; one that is dead and not yet taken note of does not."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False


def trials(count: int, longest_s: float, seed: int, folder: Path) -> list[Trial]:
    """So many flights, some at once, each killed within `longest_s` wall seconds of its start."""
    moments = random.Random(seed)
    waiting = list(range(count))
    flying: list[Flight] = []
    done: list[Trial] = []
    while waiting or flying:
        while waiting and len(flying) < AT_ONCE:
            number = waiting.pop(0)
            (own := folder / str(number)).mkdir()
            flying.append(start(own, moments.uniform(0.3, longest_s), spoils_voice=number % 3 == 0))
        for flight in list(flying):
            flight.script()
            if flight.seen and not flight.begun:  # the moment counts from the first event on
                flight.begun, flight.dies_at = True, time.monotonic() + flight.dies_after_s
            if time.monotonic() >= flight.dies_at:
                flying.remove(flight)
                flight.kill()
                done.append(left_of(flight))
        time.sleep(0.02)
    return done


def main(arguments: list[str]) -> int:
    count, longest_s, seed = (*map(float, arguments), *(300.0, 20.0, 1.0)[len(arguments) :])
    with tempfile.TemporaryDirectory() as folder:
        found = trials(int(count), longest_s, int(seed), Path(folder))
    bad: list[Any] = [each for each in found if each.faults]
    for each in bad:
        print("; ".join(each.faults))
    print(
        f"{len(found)} flights killed, {sum(each.calls for each in found)} calls completed, {len(bad)} with a fault"
    )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
