"""The program ends with its own status, also where something in it does not."""

import subprocess
import sys

import pytest

AT_EXIT = "atexit.register(time.sleep, 600)"
AT_THE_VERY_END = """\
class Library:
    def __del__(self):
        time.sleep(600)
library = Library()
"""
STUCK = """\
import atexit, sys, time
{stuck}
from trainer import cli
cli.LONGEST_END_S = 0.5
sys.argv = ["patternvoice", *{arguments}]
cli.run()
"""


@pytest.mark.parametrize("stuck", [AT_EXIT, AT_THE_VERY_END], ids=["at exit", "at the very end"])
@pytest.mark.parametrize(
    ("arguments", "status"),
    [(["--version"], 0), (["no such command"], 2), (["assess", "--call", "initial", "--said", "sable"], 1)],
)
def test_what_does_not_end_is_not_waited_for(arguments: list[str], status: int, stuck: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", STUCK.format(arguments=arguments, stuck=stuck)],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == status, done.stderr
    assert done.stdout or done.stderr
    assert "Traceback" not in done.stderr
