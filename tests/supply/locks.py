"""The lock files as values: every package with its version, on which platforms it is wanted, and its hashes."""

import re
from dataclasses import dataclass
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

HERE = Path(__file__).parent
RUN, TEST = HERE / "run.lock", HERE / "test.lock"
BUILD = HERE / "build.in"


@dataclass(frozen=True)
class Pinned:
    """One entry: `hashes` are those of every file of this version that the index had."""

    requirement: Requirement
    hashes: tuple[str, ...]

    @property
    def name(self) -> str:
        return canonicalize_name(self.requirement.name)

    @property
    def version(self) -> Version:
        (only,) = self.requirement.specifier
        assert only.operator == "==", f"{self.requirement} is not pinned"
        return Version(only.version)

    def wanted_in(self, environment: dict[str, str]) -> bool:
        """By an interpreter with these markers."""
        marker = self.requirement.marker
        return marker is None or marker.evaluate(environment)


def locked(path: Path) -> list[Pinned]:
    """The entries of a lock file (pip's requirements format with --hash)."""
    text = re.sub(r"\s*#.*", "", path.read_text(encoding="utf-8"))
    found = []
    for line in text.replace("\\\n", " ").splitlines():
        if line.strip():
            what, *hashes = line.split(" --hash=")
            found.append(Pinned(Requirement(what.strip()), tuple(each.strip() for each in hashes)))
    return found
