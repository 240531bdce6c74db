"""The fuzzing script at work: a few inputs to each reader, so that it is of use when a long run is wanted."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.trust import fuzzing

INPUTS = 60
READERS = [name for name in fuzzing.COUNTS if name != "flown"]  # which takes a second an input


@pytest.mark.skipif(sys.platform != "linux", reason="it watches as Linux lets it")
def test_a_few_inputs_to_each_reader_make_no_fault(tmp_path: Path) -> None:
    named = [part for name in READERS for part in ("--reader", name)]
    command = [
        sys.executable,
        fuzzing.__file__,
        "--blind",
        "--inputs",
        str(INPUTS),
        "--keep",
        str(tmp_path),
        *named,
    ]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=600)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in ran.stdout.splitlines()
        if "|" in line
    ][2:]
    assert [row[0] for row in rows] == READERS
    for name, inputs, refused, accepted, *_ in rows:
        assert int(inputs) == INPUTS
        if name != "rows":  # a spoilt row is mostly shown as it is
            assert int(refused) > 0, f"{name}: nothing spoilt was refused"
        assert int(accepted) > 1, f"{name}: nothing but the valid file was accepted"
