"""Hours of `fly` on a virtual sound card, with a synthetic trainee who speaks: does anything grow, drift or get lost?

    python tests/sound/soak.py --minutes 60 --pace real --demand 10
    python tests/sound/soak.py --minutes 80 --pace quick --demand 14 --out soak.jsonl

A flight is a drill made for this, in a process of its own with a card of its own: touch and go after touch and go among
others, denials and all, until the time is up; then the next. The trainee waits until nobody has been heard on the loudspeaker for
a moment, as a person does, and says the call that is due or the answer to what the tower told him, in noise. If he then hears
another who has begun as well, he stops and says it later. Once a minute what the process and its children hold is written
down. An utterance that was said to its end is dropped if neither a call nor a "say again" comes of it.
"""

import argparse
import json
import os
import pty
import select
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np
from conftest import card

sys.path.insert(0, str(Path(__file__).parents[2]))

from phraseology.errors import PhraseologyError
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.errors import TrainerError
from trainer.judging import Question, expected_of
from trainer.logbook.store import FILE_NAME
from voices.mixing import Noise, resample, with_noise
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker
from voices.wav import write_wav

CALLSIGN = "SABLE 21"
PILOT = Voice("en-us+m4", 160)
SAY_AGAIN = "say again"
QUIET_S = 0.5
QUIET_LEVEL = 0.003
STOPS_AFTER_S = 0.3
"""Who speaks and hears another for so long stops."""
BEGINS_S = 1.5
"""So long after the tower's message was written down it is heard at the latest."""
ANSWER_S = 25.0
MINUTE_S = 60.0
SETTLED_S = 600.0
"""What a flight holds after so long is what growth is measured from: by then all that is loaded once is there."""
DRILL = """\
drill: Soak
goal: Fly until the time is up.
expected_minutes: 180
field: corbel
runway: "31"
atis: alfa
altimeter: "29.92"
wind: calm
callsign: SABLE 21
aircraft: turboprop_trainer
entry_point: QUARRY
altitude_ft: 3500
pace: real
time_limit_minutes: 180
demand: {demand}
circuits: [{circuits}]
"""


@dataclass
class Reading:
    """What the program and its children hold. `cpu_s` so far; `drift_s`: session time less wall time."""

    minute: float
    rss_mb: float
    files: int
    threads: int
    cpu_s: float
    session_s: float
    drift_s: float


@dataclass
class Flight:
    """One process of `fly`. `answered`: utterances that came to something; `stopped`: begun as another did, and
    not said to their end."""

    spoken: int = 0
    answered: int = 0
    accepted: int = 0
    not_understood: int = 0
    dropped: int = 0
    stopped: int = 0
    readings: list[Reading] = field(default_factory=list)
    session_s: float = 0.0
    why: str = ""


class Loudspeaker:
    """How long nothing has been heard on it."""

    def __init__(self, environment: dict[str, str]) -> None:
        self._heard = time.monotonic()
        self._tap = subprocess.Popen(
            ["parec", "-d", "speaker.monitor", "--raw", "--format=s16le", "--rate=8000", "--channels=1",
             "--latency-msec=50"],
            stdout=subprocess.PIPE, env=environment,
        )  # fmt: skip
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self._tap.stdout is not None
        while block := self._tap.stdout.read(800):
            if np.abs(np.frombuffer(block, np.int16)).max() > QUIET_LEVEL * 32768:
                self._heard = time.monotonic()

    @property
    def quiet_s(self) -> float:
        return time.monotonic() - self._heard

    def close(self) -> None:
        self._tap.terminate()


class Program:
    """`fly` in a pseudo terminal whose output is read and thrown away."""

    def __init__(self, environment: dict[str, str], data: Path, drill: Path, pace: str) -> None:
        data.mkdir(mode=0o700)
        (data / "settings.json").write_text('{"recordings": "wav"}', "utf-8")
        self._terminal, other_end = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", "from trainer.cli import run; run()", "fly", "--drill", str(drill), "--pace", pace],
            stdin=other_end, stdout=other_end, stderr=(data.parent / "stderr").open("w"), start_new_session=True,
            env=environment | {"PATTERNVOICE_DATA": str(data), "TERM": "xterm-256color", "PYTHONPATH": os.getcwd()},
        )  # fmt: skip
        os.close(other_end)
        threading.Thread(target=self._read, daemon=True).start()
        self._file = data / FILE_NAME
        self._last = 0

    def _read(self) -> None:
        with suppress(OSError, ValueError):
            while True:
                select.select([self._terminal], [], [])
                os.read(self._terminal, 65536)

    @property
    def runs(self) -> bool:
        return self.process.poll() is None

    def new_events(self) -> list[tuple[float, str, str, bool]]:
        """What has come since the last look: when in the session, what, the call or answer now due, accepted."""
        if not self._file.exists():
            return []
        with suppress(sqlite3.Error):
            kept = sqlite3.connect(f"file:{self._file}?mode=ro", uri=True, timeout=1.0)
            try:
                rows = kept.execute(
                    "SELECT id, body ->> 'at', event, body ->> 'model_call', body ->> 'accepted',"
                    " iif(body ->> 'to' = ?, body ->> 'words', NULL) FROM events"
                    " WHERE id > ? ORDER BY id",
                    (CALLSIGN, self._last),
                ).fetchall()
            finally:
                kept.close()
            self._last = rows[-1][0] if rows else self._last
            return [
                (float(at), event, answer(words) if event == "TowerSpoke" else call or "", bool(accepted))
                for _, at, event, call, accepted, words in rows
            ]
        return []

    def holds(self) -> tuple[float, int, int, float]:
        """Resident megabytes, open files, threads and processor seconds, children included."""
        pids = [self.process.pid]
        with suppress(OSError):
            pids += map(int, Path(f"/proc/{pids[0]}/task/{pids[0]}/children").read_text().split())
        megabytes, files, threads, cpu = 0.0, 0, 0, 0.0
        for pid in pids:
            with suppress(OSError):
                status = Path(f"/proc/{pid}/status").read_text()
                megabytes += int(status.split("VmRSS:")[1].split()[0]) / 1024
                threads += int(status.split("Threads:")[1].split()[0])
                files += len(os.listdir(f"/proc/{pid}/fd"))
                fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
                cpu += (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
        return megabytes, files, threads, cpu

    def end(self) -> int:
        self.process.terminate()
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(20)
        self.process.kill()
        os.close(self._terminal)
        return self.process.wait()


def answer(words: str | None) -> str:
    """The model answer to a message, `SAY_AGAIN`, or nothing if it was for somebody else."""
    if words is None or words.endswith(SAY_AGAIN):
        return SAY_AGAIN if words else ""
    with suppress(PhraseologyError, TrainerError):
        question = Question(
            field="corbel", runway="31", callsign=CALLSIGN, intention="touch_and_go", after=words
        )
        return expected_of(question).model_call or ""
    return ""


def utterance(speaker: WorkerSpeaker, words: str, clip: Path, random: np.random.Generator) -> None:
    voice = resample(speaker.speak(words, PILOT), SAMPLE_RATE)
    quiet = np.zeros(SAMPLE_RATE // 3, np.float32)
    framed = Sound(np.concatenate([quiet[: SAMPLE_RATE // 20], voice.samples * 0.5, quiet]), SAMPLE_RATE)
    write_wav(clip, with_noise(framed, 25.0, random, Noise.PINK))


def says(clip: Path, loudspeaker: Loudspeaker, environment: dict[str, str]) -> bool:
    """Whether it was said to its end: nobody was heard for so long meanwhile that a person would stop."""
    player = subprocess.Popen(["paplay", "-d", "micfeed", str(clip)], env=environment)
    heard_since = None
    while player.poll() is None:
        time.sleep(0.02)
        if loudspeaker.quiet_s > 0.1:
            heard_since = None
        elif heard_since is None:
            heard_since = time.monotonic()
        elif time.monotonic() - heard_since > STOPS_AFTER_S:
            player.kill()
            player.wait()
            return False
    return True


def fly(environment: dict[str, str], folder: Path, options: argparse.Namespace, until: float) -> Flight:
    """One flight until it ends or the time is up."""
    random = np.random.default_rng(options.seed)
    drill = folder / "soak.yaml"
    circuits = ", ".join(["touch_and_go"] * 30)
    drill.write_text(DRILL.format(demand=options.demand, circuits=circuits), "utf-8")
    flight, began = Flight(), time.monotonic()
    program = Program(environment, folder / "data", drill, options.pace)
    loudspeaker, clip = Loudspeaker(environment), folder / "clip.wav"
    due, words, awaited, begins = "", "", 0.0, began
    at_first, drift, next_reading = None, 0.0, began + MINUTE_S
    with WorkerSpeaker() as speaker:
        while program.runs and time.monotonic() < until:
            for at, event, model_call, accepted in program.new_events():
                flight.session_s = at
                at_first = at_first or (at, time.monotonic())
                drift = (at - at_first[0]) - (time.monotonic() - at_first[1])
                if event == "CallDue" or (event == "TowerSpoke" and model_call):
                    due = words if model_call == SAY_AGAIN else model_call
                    begins = time.monotonic() + (BEGINS_S if event == "TowerSpoke" else 0.0)
                elif event in ("TraineeSpoke", "NotUnderstood"):
                    flight.answered += awaited > 0
                    flight.accepted += accepted and awaited > 0
                    flight.not_understood += event == "NotUnderstood"
                    awaited = 0.0
                elif event == "SessionEnded":
                    flight.why = "the session ended"
            now = time.monotonic()
            if due and not awaited and now > begins and loudspeaker.quiet_s > QUIET_S:
                words, due = due, ""
                utterance(speaker, words, clip, random)
                if loudspeaker.quiet_s <= QUIET_S:
                    due = words
                elif says(clip, loudspeaker, environment):
                    flight.spoken += 1
                    awaited = time.monotonic()
                else:
                    flight.stopped += 1
                    due = words
            if awaited and now - awaited > ANSWER_S:
                awaited, flight.dropped = 0.0, flight.dropped + 1
                due = due or words  # once more, as a person would
                print(f"dropped at {flight.session_s:.0f} s of the session: {words}", flush=True)
            if now >= next_reading:
                next_reading += MINUTE_S
                flight.readings.append(Reading((now - began) / 60, *program.holds(), flight.session_s, drift))
                if options.out:
                    with options.out.open("a") as out:
                        out.write(json.dumps(asdict(flight.readings[-1])) + "\n")
            time.sleep(0.1)
        flight.why = flight.why or ("the program ended by itself" if not program.runs else "the time was up")
        loudspeaker.close()
        status = program.end()
    if status != 0:
        flight.why += f", status {status}: {(folder / 'stderr').read_text()[-400:]}"
    return flight


def account(flight: Flight) -> Iterator[str]:
    yield (
        f"{flight.session_s / 3600:.2f} h of session, ended because {flight.why}; {flight.spoken} utterances,"
        f" {flight.answered} came to something ({flight.accepted} accepted, {flight.not_understood} not understood),"
        f" {flight.dropped} dropped; {flight.stopped} more were broken off, as another had begun"
    )
    later = [each for each in flight.readings if each.minute * 60 >= SETTLED_S]
    if len(later) >= 2:
        first, last = later[0], later[-1]
        cpu = (last.cpu_s - first.cpu_s) / (last.minute - first.minute) / 60
        yield (
            f"from minute {first.minute:.0f} to {last.minute:.0f}: {first.rss_mb:.1f} to {last.rss_mb:.1f} MB"
            f" ({100 * (last.rss_mb / first.rss_mb - 1):+.1f} %), {first.files} to {last.files} files,"
            f" {first.threads} to {last.threads} threads, {100 * cpu:.1f} % of a core,"
            f" session less wall time {first.drift_s:.1f} to {last.drift_s:.1f} s"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--pace", choices=("real", "quick"), default="real")
    parser.add_argument("--demand", type=float, default=10.0, help="others that come an hour")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, help="a line of JSON each minute")
    options = parser.parse_args()
    until = time.monotonic() + options.minutes * 60
    with tempfile.TemporaryDirectory(prefix="soak-") as folder, card() as environment:
        while time.monotonic() < until - MINUTE_S:
            here = Path(folder) / str(options.seed)
            here.mkdir()
            print(*account(fly(environment, here, options, until)), sep="\n", flush=True)
            options.seed += 1


if __name__ == "__main__":
    main()
