"""The library as text, to be mutilated one place at a time."""

from collections.abc import Callable
from importlib import resources
from pathlib import Path

import pytest

from drills.check import check_file


def bundled_text(folder: str, name: str) -> str:
    return (resources.files("drills") / folder / f"{name}.yaml").read_text(encoding="utf-8")


@pytest.fixture
def make(tmp_path: Path) -> Callable[..., Path]:
    """Writes a file: `make(text)` or `make(text, name)`."""

    def write(text: str, name: str = "made.yaml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture
def changed(make: Callable[..., Path]) -> Callable[[str, str, str], list[str]]:
    """The findings of a text with `old` replaced once, without the file's name."""

    def check(text: str, old: str, new: str) -> list[str]:
        assert old in text, f"the mutation no longer applies: {old!r}"
        path = make(text.replace(old, new, 1))
        return [str(finding).removeprefix(f"{path}:") for finding in check_file(path)]

    return check


@pytest.fixture
def corbel() -> str:
    return bundled_text("fields", "corbel")


@pytest.fixture
def first_flight() -> str:
    return bundled_text("library", "first_flight")
