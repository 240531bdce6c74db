"""The lock files pin all that the README's two lines install, with hashes, and agree with pyproject.toml."""

import re
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.markers import default_environment
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.supply.locks import BUILD, RUN, TEST, Pinned, locked

PROJECT = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
BUILDS = [line.partition("#")[0] for line in BUILD.read_text(encoding="utf-8").splitlines()]
ASKED = {
    RUN: [*PROJECT["dependencies"], *filter(str.strip, BUILDS)],
    TEST: [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"], *filter(str.strip, BUILDS)],
}
PLATFORMS = [
    {"python_version": f"3.{minor}", "python_full_version": f"3.{minor}.0", "sys_platform": platform,
     "platform_system": system, "os_name": "nt" if platform == "win32" else "posix", "platform_machine": "x86_64",
     "platform_release": "25.0", "platform_python_implementation": "CPython", "implementation_name": "cpython"}
    for minor in (11, 12, 13)
    for platform, system in (("linux", "Linux"), ("darwin", "Darwin"), ("win32", "Windows"))
]  # fmt: skip


def wanted(lock: Path, environment: dict[str, str]) -> dict[str, Pinned]:
    """What the lock installs there; a name pinned twice for one platform is a fault."""
    found: dict[str, Pinned] = {}
    for each in locked(lock):
        if each.wanted_in(environment):
            assert each.name not in found, f"{each.name} is pinned twice for {environment}"
            found[each.name] = each
    return found


@pytest.mark.parametrize("lock", [RUN, TEST], ids=lambda path: path.name)
def test_every_pin_has_hashes(lock: Path) -> None:
    pins = locked(lock)
    assert len(pins) > 30
    for each in pins:
        assert each.version
        assert each.hashes, f"{each.name} has no hash"
        assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", digest) for digest in each.hashes)


@pytest.mark.parametrize("lock", [RUN, TEST], ids=lambda path: path.name)
def test_what_pyproject_asks_for_is_pinned_in_its_range_on_every_platform(lock: Path) -> None:
    for environment in PLATFORMS:
        pins = wanted(lock, environment)
        for text in ASKED[lock]:
            asked = Requirement(text)
            if asked.marker is None or asked.marker.evaluate(environment):
                pin = pins.get(canonicalize_name(asked.name))
                assert pin is not None, f"{asked.name} is not in {lock.name}"
                assert asked.specifier.contains(pin.version), f"{pin.requirement} is not {text}"


def test_the_two_locks_agree() -> None:
    """What is tested is what is run."""
    tested = {(each.name, str(each.requirement.marker)): each for each in locked(TEST)}
    versions = {(each.name, each.version) for each in locked(TEST)}
    for each in locked(RUN):
        assert (each.name, each.version) in versions
        same = tested.get((each.name, str(each.requirement.marker)))
        assert same is None or same.hashes == each.hashes


@pytest.mark.parametrize("lock", [RUN, TEST], ids=lambda path: path.name)
def test_what_the_pinned_need_is_pinned(lock: Path) -> None:
    """By the metadata of what is installed here, in its pinned version: --require-hashes takes nothing else."""
    environment = {key: str(value) for key, value in default_environment().items()}
    pins = wanted(lock, environment)
    compared = 0
    for pin in pins.values():
        try:
            installed = metadata.distribution(pin.name)
        except metadata.PackageNotFoundError:
            continue
        if installed.version != str(pin.version):
            continue
        for text in installed.requires or ():
            need = Requirement(text)
            if need.marker is None or need.marker.evaluate({**environment, "extra": ""}):
                found = pins.get(canonicalize_name(need.name))
                assert found is not None, f"{pin.name} needs {need.name}, which {lock.name} lacks"
                assert need.specifier.contains(found.version, prereleases=True), f"{pin.name} needs {text}"
                compared += 1
    if not compared:
        pytest.skip("no package is installed here in its pinned version")
