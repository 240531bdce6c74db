"""The drills that there are to fly, from the library and from the user's own files, and what `check` says."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from drills.check import drill_names, examine_file
from drills.drill import Drill
from drills.errors import Severity
from drills.loader import SIZE_LIMIT
from trainer.commands.check import check

_ENDINGS = ("*.yaml", "*.yml")


@dataclass(frozen=True)
class Shelved:
    """A drill: `name` is what `load_drill` takes; `drill` None: the file is broken, and `check` says why."""

    name: str
    path: Path
    own: bool
    drill: Drill | None

    @property
    def title(self) -> str:
        return self.drill.drill if self.drill else self.path.name


def shelf(folder: Path | None = None) -> list[Shelved]:
    """The drills of the folder, then the library's; None: where the program was started."""
    library = Path(str(resources.files("drills"))) / "library"
    bundled = [_shelved(name, library / f"{name}.yaml", own=False) for name in drill_names()]
    return [*(_shelved(str(path), path, own=True) for path in _own(folder or Path.cwd())), *bundled]


def _own(folder: Path) -> Iterator[Path]:
    """Files that begin as a drill does; a field file is none."""
    for path in sorted(found for ending in _ENDINGS for found in folder.glob(ending)):
        try:
            if not path.is_file():  # a pipe would be waited for
                continue
            with path.open(encoding="utf-8", errors="replace") as file:
                lines = file.read(SIZE_LIMIT).splitlines()
            first = next((line for line in lines if line.strip() and not line.startswith("#")), "")
        except OSError:
            continue
        if first.startswith("drill:"):
            yield path


def _shelved(name: str, path: Path, *, own: bool) -> Shelved:
    content = examine_file(path).content
    return Shelved(name, path, own, content if isinstance(content, Drill) else None)


def verdict(shelved: Shelved) -> str:
    """What `patternvoice check` says of it; takes a second, for the drill is flown once."""
    findings = check(shelved.path)
    if not findings:
        return "+ check: nothing to say against it"
    signs = {Severity.ERROR: "x", Severity.WARNING: "~"}
    return "\n".join(
        f"{signs[found.severity]} line {found.line}: {found.message}; {found.remedy}" for found in findings
    )
