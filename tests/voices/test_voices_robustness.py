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
