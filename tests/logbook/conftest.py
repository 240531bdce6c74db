"""Children to kill, and a disk so small that it fills."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import trainer.logbook
from tests.logbook.flown import fly_into
from trainer.logbook.store import Logbook

ROOT = Path(trainer.logbook.__file__).parents[2]


@pytest.fixture
def child() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts Python on a script with arguments; its stdout is a pipe. Ended with the test."""
    started: list[subprocess.Popen[str]] = []

    def start(script: str, *arguments: object) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "-c", script, *map(str, arguments)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 256 kB. Needs the right to mount one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    try:
        made = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(folder)],
            capture_output=True,
            check=False,
        )
    except FileNotFoundError:
        pytest.skip("there is no mount command")
    if made.returncode != 0:
        pytest.skip("mounting a small file system needs root")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


@pytest.fixture(scope="session")
def flown_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook of two sessions: the first with a wrong callsign in each gear report, the second right."""
    folder = tmp_path_factory.mktemp("flown")
    with Logbook.open(folder) as logbook:
        fly_into(logbook, wrong=("gear_report",))
        fly_into(logbook, started="2026-02-02T18:00:00+00:00")
    return folder


@pytest.fixture
def flown(flown_folder: Path, tmp_path: Path) -> Path:
    """A copy of it, to be changed."""
    return Path(shutil.copytree(flown_folder, tmp_path / "flown"))
