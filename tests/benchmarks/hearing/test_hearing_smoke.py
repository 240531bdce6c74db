"""The evaluation of the ears runs from end to end, on six utterances: its figures are counted, none is held to a value."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


def test_a_small_evaluation_writes_its_three_files(tmp_path: Path) -> None:
    pytest.importorskip("espeakng_loader")
    command = [sys.executable, str(HERE / "run.py"), "--smoke", "--out", "results", "--cache", "clips"]
    root = {**os.environ, "PYTHONPATH": str(HERE.parents[2])}
    done = subprocess.run(command, cwd=tmp_path, env=root, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    page = (tmp_path / "results" / "results.md").read_text(encoding="utf-8")
    assert "| calls exact |" in page
    assert (tmp_path / "results" / "results.svg").read_text(encoding="utf-8").startswith("<svg")
    found = json.loads((tmp_path / "results" / "results.json").read_text(encoding="utf-8"))
    assert {row["engine"] for row in found["results"]} == {
        f"shipped, {part}" for part in ("situation", "strict", "loop")
    }
    assert all(row["outcome"] for row in found["results"])
    noise = [row for row in found["results"] if row["family"] == "no speech at all"]
    assert noise
    assert not any(row["outcome"] == "accepted" for row in noise)
