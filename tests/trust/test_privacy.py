"""A flight opens no socket, what it keeps is for this user alone, and its logs name nobody."""

import os
import shutil
import socket
import stat
import subprocess
import sys
from collections import deque
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from tests.screens.conftest import ToneSpeaker, WallClock
from trainer import compose
from trainer.live.afterwards import export
from trainer.live.start import How, keep_difficulty, open_flight, plan_of
from trainer.logbook.locations import VARIABLE
from trainer.logbook.store import Logbook
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


def test_without_a_network_the_program_judges_as_ever() -> None:
    """In a name space without any network, not even the machine's own."""
    if (
        shutil.which("unshare") is None
        or subprocess.run(["unshare", "-n", "true"], capture_output=True).returncode
    ):
        pytest.skip("a network name space needs root")
    words = ["assess", "--call", "initial", "--said", "sable two one three mile initial touch and go"]
    program = [sys.executable, "-c", "from trainer.cli import main; main()", *words]
    root = Path(__file__).parents[2]
    alone = subprocess.run(["unshare", "-n", *program], capture_output=True, text=True, cwd=root, timeout=120)
    assert alone.stderr == ""
    assert alone.returncode == subprocess.run(program, capture_output=True, cwd=root, timeout=120).returncode
