"""Wheel and sdist: the same bytes whoever builds them, and at work outside the repository. PATTERNVOICE_LONG=1 runs it;
it wants a package index for the locked requirements and takes minutes."""

import hashlib
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.supply.locks import RUN

ROOT = Path(__file__).parents[2]
BUILD = "import sys; from hatchling import build; print(getattr(build, sys.argv[1])(sys.argv[2]))"
EPOCH = {"SOURCE_DATE_EPOCH": "1767225600"}
"""2026-01-01: the time that stands in the archives instead of the files' own."""

pytestmark = pytest.mark.skipif("PATTERNVOICE_LONG" not in os.environ, reason="only with PATTERNVOICE_LONG=1")


def done(*command: str | Path, cwd: Path, **more: str) -> str:
    """What a command prints; a failure shows it."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "PATTERNVOICE"))}
    ran = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env=kept | more,
        capture_output=True,
        text=True,
        timeout=1800,
    )
    assert ran.returncode == 0, f"{command}\n{ran.stdout[-3000:]}\n{ran.stderr[-3000:]}"
    return ran.stdout


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An interpreter with what run.lock pins, each file of it with one of the lock's hashes, and nothing else."""
    folder = tmp_path_factory.mktemp("elsewhere") / "venv"
    done(sys.executable, "-m", "venv", folder, cwd=folder.parent)
    found = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    done(
        found, "-m", "pip", "install", "-q", "--no-compile", "--require-hashes", "-r", RUN, cwd=folder.parent
    )
    done(found, "-m", "pip", "check", cwd=folder.parent)
    return found


def copied(folder: Path) -> Path:
    """The repository's tracked files as another checkout has them: other place, other times."""
    names = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split("\0")  # fmt: skip
    for name in filter(None, names):
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / name, folder / name)
    return folder


@pytest.fixture(scope="module")
def built(python: Path, tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Path]]:
    """Wheel and sdist, each built in two checkouts."""
    found = []
    for name in ("a", "a_longer_name"):
        source = copied(tmp_path_factory.mktemp("source") / name)
        out = tmp_path_factory.mktemp("out")
        made = {}
        for kind in ("build_wheel", "build_sdist"):
            made[kind] = out / done(python, "-c", BUILD, kind, out, cwd=source, **EPOCH).split()[-1]
        found.append(made)
    return found


@pytest.mark.parametrize("kind", ["build_wheel", "build_sdist"])
def test_two_builds_give_the_same_file(built: list[dict[str, Path]], kind: str) -> None:
    first, second = (hashlib.sha256(each[kind].read_bytes()).hexdigest() for each in built)
    assert first == second


def test_the_wheel_holds_the_program_and_no_test(built: list[dict[str, Path]]) -> None:
    with zipfile.ZipFile(built[0]["build_wheel"]) as wheel:
        names = set(wheel.namelist())
    tops = {name.partition("/")[0] for name in names}
    assert tops == {"phraseology", "voices", "trainer", "drills", "patternvoice-0.1.0.dist-info"}
    tracked = subprocess.run(
        ["git", "ls-files", "phraseology", "voices", "trainer", "drills"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    assert names >= {name for name in tracked if (ROOT / name).is_file() and ".git" not in name}


@pytest.mark.parametrize("kind", ["build_wheel", "build_sdist"])
def test_what_was_built_flies_outside_the_repository(
    python: Path, built: list[dict[str, Path]], kind: str, tmp_path: Path
) -> None:
    """Installed without any look at an index: the lock had all that it needs, to be built too."""
    install = (
        "-m",
        "pip",
        "install",
        "-q",
        "--force-reinstall",
        "--no-deps",
        "--no-index",
        "--no-build-isolation",
    )
    done(python, *install, built[0][kind], cwd=tmp_path)
    where = Path(done(python, "-c", "import drills; print(drills.__file__)", cwd=tmp_path).strip()).parent
    assert where.is_relative_to(python.parents[1])
    program = python.with_name("patternvoice")
    more = {"PATTERNVOICE_DATA": str(tmp_path / "data")}
    assert "demo" in done(program, "demo", "--help", cwd=tmp_path, **more)
    done(
        program,
        "check",
        where / "library" / "first_flight.yaml",
        where / "fields" / "corbel.yaml",
        cwd=tmp_path,
        **more,
    )
    assert "accepted" in done(program, "demo", cwd=tmp_path, **more)
    done(python, "-m", "pip", "check", cwd=tmp_path)
