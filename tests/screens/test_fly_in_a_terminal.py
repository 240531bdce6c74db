"""The real command in a real pseudo terminal."""

import os
import pty
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.logbook.store import Logbook

COMMAND = (sys.executable, "-c", "from trainer.cli import main; main()", "fly", "--no-sound")
LEFT_THE_SCREEN = b"\x1b[?1049l"
PATIENCE_S = 60


def environment(folder: Path) -> dict[str, str]:
    return os.environ | {
        "PATTERNVOICE_DATA": str(folder),
        "TERM": "xterm-256color",
        "PYTHONPATH": os.getcwd(),
    }


def read_until(terminal: int, awaited: bytes) -> bytes:
    """What the terminal gets, up to and including this; all there is if it closes."""
    got = b""
    while awaited not in got:
        ready, _, _ = select.select([terminal], [], [], PATIENCE_S)
        assert ready, f"nothing came for {PATIENCE_S} s after {got[-200:]!r}"
        try:
            part = os.read(terminal, 65536)
        except OSError:  # Linux says EIO where the other end has closed
            part = b""
        if not part:
            break
        got += part
    return got


@pytest.mark.parametrize(
    "number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP], ids=lambda number: number.name
)
def test_a_signal_ends_the_session_in_order(tmp_path: Path, number: signal.Signals) -> None:
    terminal, other_end = pty.openpty()
    with subprocess.Popen(
        [*COMMAND, "--drill", "first_flight"],
        stdin=other_end,
        stdout=other_end,
        stderr=subprocess.PIPE,
        env=environment(tmp_path),
        start_new_session=True,
    ) as flight:
        os.close(other_end)
        read_until(terminal, b"Corbel Tower")
        flight.send_signal(number)
        rest = read_until(terminal, b"logbook    ")
        assert flight.wait(PATIENCE_S) == 0
        assert flight.stderr is not None
        assert flight.stderr.read() == b""
    os.close(terminal)
    assert LEFT_THE_SCREEN in rest
    assert b"the trainee left" in rest.split(LEFT_THE_SCREEN)[-1]
    with Logbook.open(tmp_path) as logbook:
        (session,) = logbook.sessions()
        assert session.summary is not None
        assert session.summary["reason"] == "the trainee left"


@pytest.mark.skipif(sys.platform == "win32", reason="there is no pseudo terminal")
@pytest.mark.parametrize(
    "command", [["fly", "--no-sound", "--drill", "first_flight"], []], ids=["fly", "start"]
)
def test_a_terminal_that_goes_without_a_signal_ends_the_program(tmp_path: Path, command: list[str]) -> None:
    terminal, other_end = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", "from trainer.cli import run; run()", *command],
        stdin=other_end,
        stdout=other_end,
        stderr=subprocess.PIPE,
        env=environment(tmp_path),
        start_new_session=True,  # it is not the terminal of this session: nobody sends SIGHUP
    ) as program:
        os.close(other_end)
        read_until(terminal, b"Corbel")
        os.close(terminal)
        try:
            assert program.wait(PATIENCE_S) in (0, 2)  # 2: nobody is there to read the account
        finally:
            program.kill()
        assert program.stderr is not None
        assert b"Traceback" not in program.stderr.read()
    if command:
        with Logbook.open(tmp_path) as logbook:
            (session,) = logbook.sessions()
            assert session.summary is not None
            assert session.summary["reason"] == "the trainee left"


def test_without_a_terminal_it_is_one_sentence(tmp_path: Path) -> None:
    done = subprocess.run(
        COMMAND, stdin=subprocess.DEVNULL, capture_output=True, text=True, env=environment(tmp_path)
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert (
        done.stderr
        == "patternvoice: fly needs a terminal to draw on: start it in one, without redirecting it\n"
    )


def test_without_a_terminal_practise_speaks_of_itself(tmp_path: Path) -> None:
    done = subprocess.run(
        [*COMMAND[:-2], "practise", "--no-sound"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        env=environment(tmp_path),
    )
    assert done.returncode == 2
    assert done.stderr.startswith("patternvoice: practise needs a terminal to draw on: ")


def test_without_a_microphone_it_is_one_sentence_that_names_the_way_out(tmp_path: Path) -> None:
    """No sound server and no card: the default input is not there (or PortAudio itself is not)."""
    silent = environment(tmp_path) | {"PULSE_SERVER": "unix:/nonexistent", "XDG_RUNTIME_DIR": str(tmp_path)}
    probe = "from trainer.compose import open_microphone; print(open_microphone()[0] is None)"
    found = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, env=silent)
    if found.stdout.strip() != "True":
        pytest.skip("this machine has a microphone that needs no sound server")
    terminal, other_end = pty.openpty()
    done = subprocess.run(
        [*COMMAND[:-1], "--drill", "first_flight"],
        stdin=other_end,
        stdout=other_end,
        stderr=subprocess.PIPE,
        text=True,
        env=silent,
        timeout=PATIENCE_S,
    )
    os.close(other_end)
    os.close(terminal)
    assert done.returncode == 2
    (sentence,) = done.stderr.strip().splitlines()
    assert sentence.startswith("patternvoice: ")
    assert "fly --typed" in sentence


NOISE = """
import os, sys
from pathlib import Path
from trainer.live.terminal import library_noise_to
with library_noise_to(Path(sys.argv[1])):
    os.write(2, b"ALSA lib: noise")
    sys.__stderr__.write("drawn")
os.write(2, b"afterwards")
"""


def test_library_noise_goes_to_the_log_and_screens_do_not(tmp_path: Path) -> None:
    log = tmp_path / "data" / "sound.log"
    done = subprocess.run(
        [sys.executable, "-c", NOISE, str(log)], capture_output=True, env=environment(tmp_path), check=True
    )
    assert log.read_bytes() == b"ALSA lib: noise"
    assert (done.stdout, done.stderr) == (b"drawn", b"afterwards")
