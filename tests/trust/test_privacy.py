"""A flight opens no socket, what it keeps is for this user alone, and its logs name nobody.

`serve`, which does open one: `tests/commands/test_serving.py`.
"""

import os
import pty
import select
import shutil
import socket
import stat
import subprocess
import sys
import time
from collections import deque
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

import pytest

from tests.screens.conftest import ToneSpeaker, WallClock
from tests.test_boundaries import imported
from trainer import compose
from trainer.live.afterwards import export
from trainer.live.start import How, keep_difficulty, open_flight, plan_of
from trainer.logbook.locations import VARIABLE
from trainer.logbook.store import FILE_NAME, Logbook
from trainer.settings import Settings, save_settings
from voices.playback import SilentPlayer


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder that is not there yet, a umask that hides nothing, sound faked at the device."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "data"))
    clock = WallClock()
    monkeypatch.setattr(compose, "open_speaker", lambda standard=None: ToneSpeaker())
    monkeypatch.setattr(compose, "open_returning_player", lambda notify: SilentPlayer(clock))
    monkeypatch.setattr(SilentPlayer, "wall", clock, raising=False)
    before = os.umask(0)
    yield tmp_path / "data"
    os.umask(before)


def fly_typed(folder: Path) -> None:
    """The first calls of a drill, typed, recorded, and the page of them."""
    save_settings(Settings(recordings="wav"))
    plan, _ = plan_of("first_flight", None, "corbel", None, 1)
    notices: deque[str] = deque()
    with ExitStack() as stack:
        logbook = stack.enter_context(Logbook.open(folder))
        opened = open_flight(stack, logbook, plan, How("quick", typed=True), notices)
        live, said = opened.live, 0
        for _ in range(5_000):
            live.tick(0.1)
            SilentPlayer.wall.seconds += 0.1  # type: ignore[attr-defined]
            if live.session.prompt is not None and not live.session.on_air:
                live.typed(live.session.prompt.model_call)
                said += 1
            if said == 3:
                break
        assert said == 3
        live.leave()
        live.book.close()
        assert export(live).startswith("Written: ")
        keep_difficulty(live)


def test_a_flight_opens_no_socket(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: Any, **__: Any) -> Any:
        raise AssertionError("a socket was opened")

    for name in ("socket", "create_connection", "getaddrinfo"):
        monkeypatch.setattr(socket, name, refused)
    fly_typed(data)


def test_what_it_keeps_is_for_this_user_alone(data: Path) -> None:
    fly_typed(data)
    found = {path.relative_to(data): stat.S_IMODE(path.stat().st_mode) for path in [data, *data.rglob("*")]}
    names = {str(path.parts[0]) for path in found if path.parts}
    assert {"logbook.sqlite3", "settings.json", "recordings", "debriefs"} <= names
    for path, mode in found.items():
        assert mode == (0o700 if (data / path).is_dir() else 0o600), f"{path}: {mode:o}"


def test_its_logs_are_for_this_user_alone_and_name_nobody(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        with_log = tmp_path / "voices.log"
        from voices.speaker import WorkerSpeaker

        with WorkerSpeaker(with_log) as speaker:
            names = speaker.voices()
            from voices.sound import Voice

            speaker.speak("sable two one, three mile initial", Voice(names[0], 160))
    finally:
        os.umask(before)
    assert stat.S_IMODE(with_log.stat().st_mode) == 0o600
    assert "sable" not in with_log.read_text(encoding="utf-8", errors="replace").lower()


# -- whole processes: with a network at hand, and in a name space that has none, not even the machine's own ------

ROOT = Path(__file__).parents[2]
PROGRAM = [sys.executable, "-c", "from trainer.cli import main; main()"]
ALONE = ["unshare", "-n"]
PATIENCE_S = 120.0


@pytest.fixture(params=["no network", "a network"])
def prefix(request: pytest.FixtureRequest) -> list[str]:
    if request.param == "a network":
        return []
    need_name_spaces()
    return ALONE


def need_name_spaces() -> None:
    if shutil.which("unshare") is None:
        pytest.skip("no unshare here (util-linux)")
    if subprocess.run([*ALONE, "true"], capture_output=True).returncode:
        pytest.skip("a network name space of one's own is not allowed here (root, CAP_SYS_ADMIN)")


def environment(data: Path) -> dict[str, str]:
    return os.environ | {VARIABLE: str(data), "PYTHONPATH": str(ROOT), "TERM": "xterm-256color"}


def sockets(pid: int) -> tuple[set[str], set[str]]:
    """Inodes of all sockets that the process holds, and of the local ones of its name space (proc(5))."""
    held = set()
    for descriptor in Path(f"/proc/{pid}/fd").iterdir():
        with suppress(OSError):  # closed since
            if (target := os.readlink(descriptor)).startswith("socket:["):
                held.add(target[8:-1])
    local = Path(f"/proc/{pid}/net/unix").read_text().splitlines()[1:]
    return held, {line.split()[6] for line in local}


class Flight:
    """`fly --no-sound` in a pseudo terminal, its calls typed as they fall due in the logbook."""

    def __init__(self, prefix: list[str], data: Path) -> None:
        self.data = data
        self.terminal, other_end = pty.openpty()
        words = ["fly", "--no-sound", "--drill", "first_flight", "--pace", "quick"]
        self.process = subprocess.Popen(
            [*prefix, *PROGRAM, *words],
            stdin=other_end,
            stdout=other_end,
            stderr=subprocess.PIPE,
            env=environment(data),
            cwd=ROOT,
            start_new_session=True,
        )
        os.close(other_end)

    def events(self, kind: str) -> list[dict[str, Any]]:
        if not (self.data / FILE_NAME).exists():
            return []
        with Logbook.open(self.data, checked=False) as logbook:
            found = logbook.events(1) if logbook.sessions() else []
        return [event for event in found if event["event"] == kind]

    def until(self, so: Callable[[], bool]) -> None:
        """What it draws is read all the while, or it would stop."""
        until = time.monotonic() + PATIENCE_S
        while not so():
            assert time.monotonic() < until, "it did not come"
            if select.select([self.terminal], [], [], 0.1)[0]:
                with suppress(OSError):  # Linux says EIO where the other end has closed
                    os.read(self.terminal, 65536)

    def say(self, words: str) -> None:
        os.write(self.terminal, f"{words}\r".encode())

    def leave(self) -> tuple[int, bytes]:
        self.process.terminate()
        self.until(lambda: self.process.poll() is not None)
        assert self.process.stderr is not None
        with self.process.stderr as errors:
            said = errors.read()
        os.close(self.terminal)
        return self.process.returncode, said


def test_a_flight_by_typed_line_needs_no_network_and_holds_no_socket_to_one(
    prefix: list[str], tmp_path: Path
) -> None:
    flight = Flight(prefix, tmp_path / "data")
    try:
        flight.until(lambda: bool(flight.events("CallDue")))
        flight.say(flight.events("CallDue")[0]["model_call"])
        flight.until(lambda: bool(flight.events("TraineeSpoke")))
        held, local = sockets(flight.process.pid)
        assert held, "the loop's own pair, or nothing was looked at"
        assert held <= local
    finally:
        status, said = flight.leave()
    assert (status, said) == (0, b"")
    (call,) = flight.events("TraineeSpoke")
    assert (call["call"], call["accepted"]) == ("check_in", True)


@pytest.mark.skipif("PATTERNVOICE_LONG" not in os.environ, reason="a minute: PATTERNVOICE_LONG=1 runs it")
def test_the_demo_needs_no_network(tmp_path: Path) -> None:
    need_name_spaces()
    done = subprocess.run(
        [*ALONE, *PROGRAM, "demo", "--out", str(tmp_path)],
        capture_output=True,
        text=True,
        env=environment(tmp_path / "data"),
        cwd=ROOT,
        timeout=500,
    )
    assert (done.returncode, done.stderr) == (0, "")
    with Logbook.open(tmp_path / "data") as logbook:
        (session,) = logbook.sessions()
        calls = [event for event in logbook.events(session.id) if event["event"] == "TraineeSpoke"]
    assert session.summary is not None
    assert sum(call["accepted"] for call in calls) > len(calls) / 2 > 3


def test_a_call_is_judged_without_a_network(tmp_path: Path) -> None:
    need_name_spaces()
    words = ["assess", "--call", "initial", "--said", "sable two one three mile initial touch and go"]
    answers = [
        subprocess.run(
            [*before, *PROGRAM, *words], capture_output=True, text=True, env=environment(tmp_path), cwd=ROOT
        )
        for before in (ALONE, [])
    ]
    assert answers[0].stderr == ""
    assert answers[0].stdout == answers[1].stdout
    assert answers[0].returncode == answers[1].returncode


def test_only_model_get_asks_for_a_network(tmp_path: Path) -> None:
    """Without one it is the one command that says so."""
    need_name_spaces()
    done = subprocess.run(
        [*ALONE, *PROGRAM, "model", "get"],
        capture_output=True,
        text=True,
        env=environment(tmp_path / "data"),
        cwd=ROOT,
        timeout=PATIENCE_S,
    )
    assert (done.returncode, done.stderr.count("\n")) == (2, 1), done.stderr
    importers = {
        path.relative_to(ROOT).as_posix()
        for package in ("trainer", "voices", "phraseology", "drills")
        for path in (ROOT / package).rglob("*.py")
        if imported(path) & {"urllib.request", "http.client", "requests", "aiohttp", "httpx", "socket"}
    }
    assert importers <= MAY_NAME_A_NETWORK


MAY_NAME_A_NETWORK = {"trainer/ears/fetch.py", "trainer/commands/serving_app.py", "trainer/commands/serve.py"}
