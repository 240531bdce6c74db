"""From the start screen to the debrief in tmux: by keys, by the mouse, by typed lines, by voice; the same account.

The voice has one key: the one that begins. With keys and mouse the talk key is held while the call is spoken.
Nothing is timed: the flight is at the patient pace, and each step waits for what the screen or the logbook says.
"""

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

import numpy as np
import pytest

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.judging import Question, expected_of
from trainer.logbook.store import Logbook
from trainer.settings import Choice, Settings
from voices.mixing import Noise, resample, with_noise
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker
from voices.wav import write_wav

pytestmark = pytest.mark.skipif(
    "PATTERNVOICE_LONG" not in os.environ,
    reason="takes minutes and a quiet machine: PATTERNVOICE_LONG=1 runs it",
)

NEAR = Path(__file__).parents[1] / "screens" / "near"
PILOT = Voice("en-us+m4", 160)
PATIENCE_S = 240.0
SIZE = (100, 30)
ACCOUNT = """\
SABLE 21 check_in accepted: corbel tower sable two one eight miles south east three thousand five hundred information alfa request overhead low approach
Tower: sable two one, runway three one, overhead approved, report three mile initial
SABLE 21 read-back accepted: sable two one runway three one report three mile initial
SABLE 21 initial accepted: sable two one three mile initial
Tower: sable two one, break approved
SABLE 21 read-back accepted: sable two one break approved
SABLE 21 gear_report accepted: sable two one gear down low approach
Tower: sable two one, runway three one, wind calm, cleared low approach
SABLE 21 read-back accepted: sable two one runway three one cleared low approach
the last approach is flown, 100 of 100
"""


class Terminal:
    """The program in a tmux of its own; what it shows, and what is done to it."""

    def __init__(self, folder: Path, environment: dict[str, str], data: Path) -> None:
        self._tmux = ["tmux", "-S", str(folder / "tmux"), "-f", "/dev/null"]
        self.data = data
        program = shlex.join([sys.executable, "-c", "from trainer.cli import run; run()"])
        self._do(
            "new-session", "-d", "-x", str(SIZE[0]), "-y", str(SIZE[1]), "-c", str(NEAR), program,
            env=environment | {
                "PATTERNVOICE_DATA": str(data), "PYTHONPATH": os.getcwd(), "LC_ALL": "C.UTF-8",
            },
        )  # fmt: skip
        self._do("set-option", "-g", "remain-on-exit", "on")

    def _do(self, *words: str, env: dict[str, str] | None = None) -> str:
        return subprocess.run(
            [*self._tmux, *words], env=env, check=True, capture_output=True, text=True
        ).stdout

    def screen(self) -> str:
        return self._do("capture-pane", "-p")

    def see(self, words: str) -> tuple[int, int]:
        """Wait for the words; column and row of them, from 1."""

        def found() -> tuple[int, int] | None:
            for row, line in enumerate(self.screen().splitlines(), 1):
                if words in line:
                    return line.index(words) + 1, row
            return None

        return until(found, f"{words!r} on the screen", self.screen)  # type: ignore[no-any-return]

    def keys(self, *names: str) -> None:
        self._do("send-keys", *names)

    def type(self, words: str) -> None:
        self._do("send-keys", "-l", words)

    def mouse(self, at: tuple[int, int], *, down: bool) -> None:
        self.type(f"\x1b[<0;{at[0] + 1};{at[1]}{'M' if down else 'm'}")

    def click(self, words: str) -> None:
        at = self.see(words)
        self.mouse(at, down=True)
        self.mouse(at, down=False)

    def events(self) -> list[dict[str, Any]]:
        with Logbook.open(self.data) as logbook:
            return logbook.events(1) if logbook.sessions() else []

    def see_the_program_end(self) -> None:
        """With status 0. tmux overlooks at times that its child has ended, which then stays a zombie: it is told
        again."""
        server = int(self._do("display-message", "-p", "#{pid}"))

        def ended() -> bool | None:
            os.kill(server, signal.SIGCHLD)
            return "Pane is dead (status 0" in self.screen() or None

        until(ended, "the end of the program", self.screen)

    def end(self) -> None:
        self._do("kill-server")


def until(there: Callable[[], Any], what: str, instead: Callable[[], Any]) -> Any:
    """The first answer that is something."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if (found := there()) is not None:
            return found
        time.sleep(0.1)
    raise AssertionError(f"{what}: not in {PATIENCE_S:g} s, but {instead()}")


@pytest.fixture
def program(sound_card: dict[str, str], tmp_path: Path) -> Iterator[Callable[[Choice | None], Terminal]]:
    """Starts it, with what was chosen the last time."""
    if shutil.which("tmux") is None:
        pytest.skip("tmux is not installed")
    started: list[Terminal] = []

    def start(last: Choice | None) -> Terminal:
        data = tmp_path / "data"
        data.mkdir(mode=0o700)
        (data / "settings.json").write_text(Settings(last=last).model_dump_json(), encoding="utf-8")
        started.append(Terminal(Path(sound_card["XDG_RUNTIME_DIR"]), sound_card, data))
        return started[0]

    yield start
    for each in started:
        each.end()


def nothing() -> None:
    """No key: the voice opens the microphone."""


class Mouth:
    """Speaks into the virtual microphone."""

    def __init__(self, card: dict[str, str], clip: Path) -> None:
        self._card = card
        self._clip = clip
        self._speaker = WorkerSpeaker()

    def say(
        self, words: str, down: Callable[[], object] = nothing, up: Callable[[], object] = nothing
    ) -> None:
        """The talk key goes down only when there is something to say, and up when all of it has been played."""
        voice = resample(self._speaker.speak(words, PILOT), SAMPLE_RATE)
        quiet = np.zeros(SAMPLE_RATE // 2, np.float32)
        framed = Sound(np.concatenate([quiet, voice.samples * 0.5, quiet]), SAMPLE_RATE)
        write_wav(self._clip, with_noise(framed, 25.0, np.random.default_rng(1), Noise.PINK))
        down()
        subprocess.run(["paplay", "-d", "micfeed", str(self._clip)], env=self._card, check=True)
        up()

    def close(self) -> None:
        self._speaker.close()


@pytest.fixture
def mouth(sound_card: dict[str, str], tmp_path: Path) -> Iterator[Mouth]:
    speaking = Mouth(sound_card, tmp_path / "clip.wav")
    yield speaking
    speaking.close()


def fly(terminal: Terminal, make: Callable[[str], None]) -> str:
    """Make every call and answer as it falls due, to the end; the account."""
    answered: set[int] = set()

    def due() -> tuple[int, str] | None:
        for number, event in enumerate(terminal.events()):
            if event["event"] == "SessionEnded":
                return number, ""
            if number in answered:
                continue
            if event["event"] == "CallDue":
                return number, str(event["model_call"])
            if event["event"] == "TowerSpoke" and event["to"] == "SABLE 21":
                until(lambda: has_spoken(terminal, event["words"]), "silence", terminal.screen)  # noqa: B023
                return number, model_answer(event["words"])
        return None

    while True:
        number, words = until(due, "a call", terminal.events)
        if not words:
            return account(terminal.events())
        answered.add(number)
        before = len(calls(terminal))
        make(words)
        until(lambda: True if len(calls(terminal)) > before else None, words, terminal.screen)  # noqa: B023
        assert calls(terminal)[-1]["event"] == "TraineeSpoke", terminal.events()


def has_spoken(terminal: Terminal, words: str) -> bool | None:
    """The message is on the screen, and that somebody speaks, or that the microphone is shut for it, is not.

    Both are drawn at once; of two looks the second has the whole of it.
    """
    start = words[:60]  # fits into one line of the panel, and no two messages of this flight begin like it
    looks = [terminal.screen() for _ in range(2)]
    over = all(start in look and " speaks" not in look and "muted" not in look for look in looks)
    return True if over else None


def model_answer(words: str) -> str:
    return str(expected_of(Question(field=str(NEAR / "near.yaml"), after=words)).model_call)


def calls(terminal: Terminal) -> list[dict[str, Any]]:
    return [event for event in terminal.events() if event["event"] in ("TraineeSpoke", "NotUnderstood")]


def account(events: list[dict[str, Any]]) -> str:
    lines = []
    for event in events:
        match event["event"]:
            case "TowerSpoke":
                lines.append(f"Tower: {event['words']}")
            case "TraineeSpoke":
                verdict = "accepted" if event["accepted"] else "not accepted"
                name = event["call"] if event["call"] in CALLS else "read-back"
                lines.append(f"SABLE 21 {name} {verdict}: {event['heard']}")
            case "CallMissed" | "NotUnderstood":
                lines.append(event["event"])
            case "SessionEnded":
                lines.append(f"{event['reason']}, {event['score']:g} of 100")
    return "".join(f"{line}\n" for line in lines)


CALLS = ("check_in", "initial", "gear_report")


def test_by_keys(program: Callable[[Choice | None], Terminal], mouth: Mouth) -> None:
    terminal = program(Choice(pace="patient"))
    terminal.see("free flight")
    terminal.keys("F2")
    terminal.see("Choose")
    terminal.keys("Home", "Down", "Enter")
    terminal.see("< One circuit >")
    terminal.keys("Enter")
    terminal.see("listening")

    def down() -> None:
        terminal.keys("Space")
        terminal.see("hearing you")

    def talk(words: str) -> None:
        mouth.say(words, down, lambda: terminal.keys("Space"))

    assert fly(terminal, talk) == ACCOUNT
    terminal.see("Debrief")
    terminal.keys("Enter")
    terminal.see_the_program_end()


def test_by_the_mouse(program: Callable[[Choice | None], Terminal], mouth: Mouth) -> None:
    terminal = program(Choice(pace="patient"))
    terminal.see("free flight")
    terminal.click(" Drills ")
    terminal.click("One circuit (own file)")
    terminal.see("< One circuit >")
    terminal.click("   Fly   ")  # the button, not the line
    terminal.see("listening")

    def talk(words: str) -> None:
        button = terminal.see("Hold to talk")

        def down() -> None:
            terminal.mouse(button, down=True)
            terminal.see("hearing you")

        mouth.say(words, down, lambda: terminal.mouse(button, down=False))

    assert fly(terminal, talk) == ACCOUNT
    terminal.see("Debrief")
    terminal.click("Leave")
    terminal.see_the_program_end()


def test_by_typed_lines(program: Callable[[Choice | None], Terminal]) -> None:
    terminal = program(Choice(drill=str(NEAR / "one_circuit.yaml"), ears="typed", pace="patient"))
    terminal.see("< One circuit >")
    terminal.type("\r")
    terminal.see("or type the call here")

    def type_line(words: str) -> None:
        terminal.type(f"{words}\r")

    assert fly(terminal, type_line) == ACCOUNT
    terminal.see("Debrief")
    terminal.type("\r")
    terminal.see_the_program_end()


def test_by_voice(program: Callable[[Choice | None], Terminal], mouth: Mouth) -> None:
    terminal = program(Choice(drill=str(NEAR / "one_circuit.yaml"), pace="patient"))
    terminal.see("< One circuit >")
    terminal.keys("Enter")
    terminal.see("listening")
    assert fly(terminal, mouth.say) == ACCOUNT
    terminal.see("Debrief")
    assert "ALSA" not in terminal.screen()
