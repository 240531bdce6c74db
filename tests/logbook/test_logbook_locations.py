"""Where things lie: the machine's own place, or the one that was named."""

from pathlib import Path

import platformdirs
import pytest

from trainer.logbook.locations import VARIABLE, data_folder


def test_the_variable_names_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "class"))
    assert data_folder() == tmp_path / "class"
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(VARIABLE, "stick")
    assert data_folder() == tmp_path / "stick"
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv(VARIABLE, "~/mine")
    assert data_folder() == tmp_path / "mine"


@pytest.mark.parametrize("value", [None, ""])
def test_without_it_the_platform_decides(value: str | None, monkeypatch: pytest.MonkeyPatch) -> None:
    if value is None:
        monkeypatch.delenv(VARIABLE, raising=False)
    else:
        monkeypatch.setenv(VARIABLE, value)
    assert data_folder() == Path(platformdirs.user_data_dir("patternvoice", appauthor=False))
    assert data_folder().is_absolute()
