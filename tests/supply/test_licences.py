"""The licence of everything that the locks install here: one that goes with ours, and the one THIRD_PARTY.md names.

As the packages' own metadata say; nothing is fetched. That the permissive licences, the MPL and the LGPL go with MIT
code that is given out beside the packages, not with them in one file, is common practice.
"""

import re
from importlib import metadata
from pathlib import Path

import pytest
from packaging.markers import default_environment
from packaging.utils import canonicalize_name

from tests.supply.locks import RUN, TEST, locked

THIRD_PARTY = (Path(__file__).parents[2] / "THIRD_PARTY.md").read_text(encoding="utf-8")
FAMILIES = {  # what metadata write, and the family's name as THIRD_PARTY.md writes it; the first that fits
    "LGPL": r"LGPL|Lesser General Public",
    "GPL": r"\bGPL|General Public License",
    "MPL 2.0": r"MPL|Mozilla Public License",
    "Apache 2.0": r"Apache",
    "BSD": r"BSD",
    "PSF": r"PSF|Python Software Foundation",
    "MIT": r"MIT\b|^Permission is hereby granted",
    "public domain": r"Public[- ]Domain|CC0|Unlicense",
    "Zlib": r"Zlib",
}
ALLOWED = {"LGPL", "MPL 2.0", "Apache 2.0", "BSD", "PSF", "MIT", "public domain", "Zlib"}
STATES_NONE = {"espeakng-loader": "MIT"}
"""No licence in its metadata: from memory of the project. What it carries, espeak-ng, is GPL 3.0 or later and runs
in a process of its own."""


def families(text: str) -> set[str]:
    """The families that a licence's text or expression names; LGPL is not GPL too."""
    found = set()
    for name, form in FAMILIES.items():
        if re.search(form, text, re.IGNORECASE):
            found.add(name)
            text = re.sub(form, "", text, flags=re.IGNORECASE)
    return found


def stated(name: str) -> set[str]:
    """What a package that is installed says of itself."""
    about = metadata.metadata(name)
    classifiers = [each for each in about.get_all("Classifier") or [] if each.startswith("License ::")]
    texts = [about.get("License-Expression"), *classifiers, (about.get("License") or "")[:200]]
    for text in texts:
        if text and (found := families(text)):
            return found
    return {STATES_NONE[name]} if name in STATES_NONE else set()


def installed(lock: Path) -> list[str]:
    """The packages of the lock that are wanted on this machine and are here."""
    environment = {key: str(value) for key, value in default_environment().items()}
    here = {canonicalize_name(each.name) for each in metadata.distributions()}
    return [each.name for each in locked(lock) if each.wanted_in(environment) and each.name in here]


@pytest.mark.parametrize("lock", [RUN, TEST], ids=lambda path: path.name)
def test_every_licence_goes_with_ours(lock: Path) -> None:
    names = installed(lock)
    assert len(names) > 30, "run with the package and its requirements installed"
    for name in names:
        found = stated(name)
        assert found, f"{name} states no licence that is known"
        assert found <= ALLOWED, f"{name} is {', '.join(sorted(found))}"


def listed() -> dict[str, str]:
    """Name to licence of all that THIRD_PARTY.md says is installed by pip: the table, and the lists below it."""
    section = THIRD_PARTY.partition("## Installed by pip")[2].partition("\n## ")[0]
    found: dict[str, str] = {}
    for line in section.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("|") and len(cells) == 3:
            for name in cells[0].split(","):
                found[canonicalize_name(re.sub(r"\(.*?\)", "", name).strip())] = f"{cells[2]} {cells[1]}"
        elif line.startswith("- ") and ":" in line:
            licence, _, names = line[2:].partition(":")
            for name in names.split(","):
                found[canonicalize_name(name.strip(" ."))] = licence
    return found


@pytest.mark.parametrize("lock", [RUN, TEST], ids=lambda path: path.name)
def test_third_party_names_each_with_its_licence(lock: Path) -> None:
    named = listed()
    for name in installed(lock):
        assert name in named, f"THIRD_PARTY.md does not name {name} ({', '.join(sorted(stated(name)))})"
        assert stated(name) <= families(named[name]), f"{name}: {stated(name)}, THIRD_PARTY.md: {named[name]}"
