"""The benchmark of speaking, short: busy loops beside, and a worker that is killed in the middle of jobs."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[1] / "benchmarks" / "speaking.py"
linux = pytest.mark.skipif(sys.platform != "linux", reason="the reference is espeak's library on Linux")


@linux
def test_every_utterance_is_spoken_whole_in_its_own_voice_in_order_and_once() -> None:
    run = subprocess.run(
        [sys.executable, str(SCRIPT), "--count", "40", "--kills", "4"],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert "spoken 40, faults: none" in run.stdout
    assert re.search(r"\b4 in the middle of a job", run.stdout)


@linux
def test_the_benchmark_finds_what_is_wrong(tmp_path: Path) -> None:
    """A worker that keeps the voice of its first job, and one that cuts the end off, are found."""
    for fault, edit in {
        "voice or words": "self.voice = voice = getattr(self, 'voice', voice)",
        "length": "text = text.rsplit(' ', 2)[0]",
    }.items():
        broken = tmp_path / "broken.py"
        broken.write_text(
            "import runpy, sys\n"
            "from voices.pyttsx3_engine import Pyttsx3Engine\n"
            "right = Pyttsx3Engine.save\n"
            "def save(self, text, voice, rate, path):\n"
            f"    {edit}\n"
            "    right(self, text, voice, rate, path)\n"
            "Pyttsx3Engine.save = save\n"
            "runpy.run_module('voices.worker', run_name='__main__')\n"
        )
        run = subprocess.run(
            [
                sys.executable,
                str(SCRIPT),
                "--count",
                "20",
                "--kills",
                "0",
                "--loops",
                "0",
                "--worker",
                str(broken),
            ],
            capture_output=True,
            text=True,
            timeout=300,
        )
        assert run.returncode == 1, run.stdout + run.stderr
        assert fault in run.stdout


@linux
def test_a_rate_that_did_not_arrive_is_a_fault_and_no_sound(tmp_path: Path) -> None:
    deaf_to_the_rate = (
        "import sys\n"
        "from pathlib import Path\n"
        "from voices.errors import VoiceError\n"
        "from voices.pyttsx3_engine import Pyttsx3Engine\n"
        "engine = Pyttsx3Engine(Path(sys.argv[1]))\n"
        "said = Path(sys.argv[1], 'said.wav')\n"
        "engine.save('sable two one', 'en-us', 180, said)\n"
        "assert said.exists()\n"
        "said.unlink()\n"
        "set_property = engine._tts.setProperty\n"
        "engine._tts.setProperty = lambda name, value: name == 'rate' or set_property(name, value)\n"
        "try:\n"
        "    engine.save('sable two one', 'en-us', 130, said)\n"
        "except VoiceError as error:\n"
        "    print(error, said.exists(), flush=True)\n"
        "import os; os._exit(0)\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", deaf_to_the_rate, str(tmp_path)], capture_output=True, text=True, timeout=60
    )
    said = run.stdout.splitlines()[-1:]
    assert said == ["the voice engine failed (it lost the rate): try another voice False"], run.stderr
