"""Who may import whom, read from the source (the rules of DEVELOPERS.md)."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
OURS = ("phraseology", "voices", "drills", "trainer")
MAY_IMPORT = {
    "phraseology": {"phraseology"},
    "voices": {"voices"},
    "drills": {"drills", "phraseology"},
    "trainer": set(OURS),
}
DECIDING = ("trainer/pattern", "trainer/traffic", "trainer/tower", "trainer/session", "phraseology")
IMPURE = {
    "asyncio",
    "datetime",
    "http",
    "multiprocessing",
    "os",
    "pathlib",
    "shutil",
    "socket",
    "sounddevice",
    "sqlite3",
    "subprocess",
    "tempfile",
    "threading",
    "time",
    "urllib",
    "vosk",
}
SHELL_OF_TRAINER = ("trainer.ears", "trainer.logbook", "trainer.screens", "trainer.live", "voices")


def modules(path: str) -> list[Path]:
    return sorted((ROOT / path).rglob("*.py"))


def imported(path: Path) -> set[str]:
    """Full names of everything that a module imports, wherever in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("package", OURS)
def test_arrows_point_one_way(package):
    for path in modules(package):
        of_ours = {name.split(".")[0] for name in imported(path)} & set(OURS)
        assert of_ours <= MAY_IMPORT[package], path


@pytest.mark.parametrize("part", DECIDING)
def test_the_deciding_parts_do_no_io_start_no_thread_and_read_no_clock(part):
    assert modules(part), part
    for path in modules(part):
        names = imported(path)
        assert not {name.split(".")[0] for name in names} & IMPURE, path
        assert not [name for name in names if name.startswith(SHELL_OF_TRAINER)], path
        calls = {
            node.func.id
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not calls & {"open", "print", "input"}, path


@pytest.mark.parametrize("package", OURS)
def test_every_package_says_what_it_is_for(package):
    for path in modules(package):
        assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), path
