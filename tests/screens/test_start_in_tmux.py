"""`patternvoice` in a real terminal: how it ends, how it is laid aside, and that nothing but it is on the screen."""

import os
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from trainer.logbook.store import Logbook
from trainer.settings import Choice, Settings

NEAR = Path(__file__).with_name("near")
PATIENCE_S = 60.0
PROGRAM = shlex.join([sys.executable, "-c", "from trainer.cli import run; run()"])


class Shell:
    """A shell in a tmux of its own with the program in it."""

    def __init__(self, folder: Path, data: Path) -> None:
        self._tmux = ["tmux", "-S", str(folder / "tmux"), "-f", "/dev/null"]
        self._data = data
        environment = os.environ | {
            "PATTERNVOICE_DATA": str(data), "PYTHONPATH": os.getcwd(), "LC_ALL": "C.UTF-8", "PS1": "shell> ",
        }  # fmt: skip
        shell = ["bash", "--norc", "--noprofile", "-i"]
        self._do("new-session", "-d", "-x", "80", "-y", "24", "-c", str(NEAR), *shell, env=environment)
        self.see("shell>")
        self.keys(PROGRAM, "Enter")
        self.see("< One circuit >")

    def _do(self, *words: str, env: dict[str, str] | None = None) -> str:
        return subprocess.run(
            [*self._tmux, *words], env=env, check=True, capture_output=True, text=True
        ).stdout

    def keys(self, *names: str) -> None:
        self._do("send-keys", *names)

    def resize(self, width: int, height: int) -> None:
        self._do("resize-window", "-x", str(width), "-y", str(height))

    def screen(self) -> str:
        return self._do("capture-pane", "-p")

    def modes(self) -> str:
        """Whether the other screen is shown, whether the mouse is asked for, whether there is a cursor."""
        return self._do("display-message", "-p", "#{alternate_on} #{mouse_any_flag} #{cursor_flag}").strip()

    def see(self, words: str) -> None:
        self.until(lambda: words in self.screen(), words)

    def until(self, there: Callable[[], Any], what: str) -> Any:
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            if found := there():
                return found
            time.sleep(0.1)
        raise AssertionError(f"{what}: not in {PATIENCE_S:g} s, but {self.screen()}")

    def program(self) -> int:
        """The process of the program: the shell's only child."""
        shell = self._do("display-message", "-p", "#{pane_pid}").strip()
        return int(Path(f"/proc/{shell}/task/{shell}/children").read_text().split()[0])

    def sessions(self) -> list[Any]:
        with Logbook.open(self._data) as logbook:
            return logbook.sessions()

    def end(self) -> None:
        self._do("kill-server")


@pytest.fixture
def shell(tmp_path: Path) -> Iterator[Shell]:
    if shutil.which("tmux") is None or not Path("/proc/self").exists():
        pytest.skip("tmux is not installed")
    data = tmp_path / "data"
    data.mkdir(mode=0o700)
    last = Choice(drill=str(NEAR / "one_circuit.yaml"), ears="silent")
    (data / "settings.json").write_text(Settings(last=last).model_dump_json(), encoding="utf-8")
    started = Shell(tmp_path, data)
    yield started
    started.end()


def begin(shell: Shell) -> None:
    shell.keys("Enter")
    shell.see("or type the call here")
    assert shell.modes() == "1 1 0"


def is_given_back(shell: Shell) -> None:
    shell.see("logbook    ")
    assert shell.modes() == "0 0 1"
    (session,) = shell.sessions()
    assert session.summary["reason"] == "the trainee left"
    shell.keys("echo back $?", "Enter")
    shell.see("back 0")


@pytest.mark.parametrize("key", ["C-c", "C-q"])
def test_a_key_ends_it(shell: Shell, key: str) -> None:
    begin(shell)
    shell.keys(key)
    is_given_back(shell)


@pytest.mark.parametrize(
    "number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP], ids=lambda number: number.name
)
def test_a_signal_ends_it(shell: Shell, number: signal.Signals) -> None:
    begin(shell)
    os.kill(shell.program(), number)
    is_given_back(shell)


def test_a_signal_on_the_start_screen_leaves_no_session(shell: Shell) -> None:
    os.kill(shell.program(), signal.SIGTERM)
    shell.until(lambda: shell.modes() == "0 0 1", "the terminal")
    assert shell.sessions() == []


def test_laid_aside_and_taken_up_again(shell: Shell) -> None:
    begin(shell)
    shell.see("NOW")
    shell.keys("C-z")
    shell.see("Stopped")
    assert shell.modes() == "0 0 1"
    shell.keys("fg", "Enter")
    shell.see("or type the call here")
    assert shell.modes() == "1 1 0"
    shell.keys("-l", "corbel tower, sable two one, eight miles south east")
    shell.keys("Enter")
    shell.see("+ callsign")
    shell.keys("C-q")
    is_given_back(shell)


def test_a_storm_of_resizes(shell: Shell) -> None:
    begin(shell)
    for width, height in ((200, 60), (60, 20), (20, 5), (120, 40), (60, 20), (81, 23)) * 5:
        shell.resize(width, height)
    shell.resize(80, 24)
    shell.see("or type the call here")
    shell.keys("C-q")
    is_given_back(shell)


def test_without_a_terminal_it_is_one_sentence(tmp_path: Path) -> None:
    done = subprocess.run(
        shlex.split(PROGRAM),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        env=os.environ | {"PATTERNVOICE_DATA": str(tmp_path), "PYTHONPATH": os.getcwd()},
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "patternvoice: patternvoice needs a terminal to draw on: start it in one, without redirecting it\n"
    )
