"""kill -9 of `fly --typed` at random moments: `python tests/trust/killing.py 300` is the long run."""

import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="looks for processes in /proc")
def test_twenty_flights_killed_lose_nothing_and_leave_nothing() -> None:
    done = subprocess.run(
        [sys.executable, Path(__file__).with_name("killing.py"), "20", "8", "1"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.startswith("20 flights killed")
    assert " 0 calls completed" not in done.stdout
