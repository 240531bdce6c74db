"""A class: its roster and the drills that it is to fly, in a folder of its own."""

import json
import os
import re
from collections.abc import Iterable
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from drills.check import load_drill
from trainer.errors import TrainerError
from trainer.logbook.locations import data_folder, for_this_user, private_folder
from trainer.logbook.store import Logbook
from trainer.school.roster import Student

CLASSES = "classes"
_FILE = "class.json"
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}")


class Assigned(BaseModel):
    """A drill that the class is to fly: as it was named, and its title, by which its sessions are known."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    drill: str
    title: str


class _Written(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    version: int = 1
    students: tuple[Student, ...] = ()
    drills: tuple[Assigned, ...] = ()


class Classroom:
    """One class on this machine. Every method may raise TrainerError or LogbookError."""

    def __init__(self, name: str, folder: Path, written: _Written) -> None:
        self.name = name
        self.folder = folder
        self._written = written

    @property
    def students(self) -> tuple[Student, ...]:
        """In the roster's order."""
        return self._written.students

    @property
    def drills(self) -> tuple[Assigned, ...]:
        return self._written.drills

    def student(self, called: str) -> Student | None:
        """The one of this name or number, whatever the case and the spaces around it."""
        wanted = called.strip().casefold()
        for student in self.students:
            if wanted and wanted in (student.name.casefold(), student.number.casefold()):
                return student
        return None

    def set_roster(self, students: Iterable[Student]) -> None:
        self._keep(self._written.model_copy(update={"students": tuple(students)}))

    def assign(self, drills: Iterable[str]) -> list[Assigned]:
        """Give the class these drills too, each by name or file; DrillError for one that cannot be flown."""
        new = [Assigned(drill=drill, title=load_drill(drill).drill) for drill in drills]
        known = {each.title: each for each in self.drills} | {each.title: each for each in new}
        self._keep(self._written.model_copy(update={"drills": tuple(known.values())}))
        return new

    def logbook(self, *, checked: bool = False) -> Logbook:
        """Of all sessions that were collected; `checked`, as `Logbook.open` has it, to write to it."""
        return Logbook.open(self.folder, checked=checked)

    def _keep(self, written: _Written) -> None:
        write_json(self.folder / _FILE, written.model_dump())
        self._written = written


def classes_folder() -> Path:
    return data_folder() / CLASSES


def class_names() -> list[str]:
    """The classes on this machine, sorted."""
    return sorted(path.parent.name for path in classes_folder().glob(f"*/{_FILE}"))


def new_class(name: str) -> Classroom:
    """An empty class; TrainerError for a bad name or one that is there."""
    if not _NAME.fullmatch(name):
        raise TrainerError(
            f'"{name}" cannot be the name of a class',
            "write up to 40 letters, figures, spaces, - or _, a letter or figure first",
        )
    if name.casefold() in (other.casefold() for other in class_names()):
        raise TrainerError(f"there is a class {name} already", "choose another name")
    made = Classroom(name, private_folder(classes_folder() / name), _Written())
    made._keep(made._written)
    return made


def open_class(name: str | None) -> Classroom:
    """The class; None: the only one there is. TrainerError with the names otherwise."""
    names = class_names()
    if not names:
        raise TrainerError("there is no class yet", "make one with patternvoice class new NAME")
    if name is None and len(names) > 1:
        raise TrainerError(f"there are several classes ({', '.join(names)})", "say which with --class NAME")
    wanted = names[0] if name is None else name
    if wanted not in names:
        raise TrainerError(f'there is no class "{wanted}"', f"choose one of: {', '.join(names)}")
    folder = classes_folder() / wanted
    return Classroom(wanted, folder, _read(folder / _FILE))


def _read(path: Path) -> _Written:
    try:
        return _Written.model_validate_json(path.read_bytes())
    except OSError as error:
        raise TrainerError(f"{path} cannot be read ({error.strerror})", "see to its permissions") from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"])) or "the file"
        raise TrainerError(f"{path} is broken ({where}: {first['msg']})", "mend it") from None


def write_json(path: Path, value: object) -> None:
    """A file of the class, written whole or not at all; TrainerError if it cannot be."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with open(part, "w", encoding="utf-8", opener=for_this_user) as file:
            file.write(json.dumps(value, ensure_ascii=False, indent=2) + "\n")
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise TrainerError(
            f"{path} cannot be written ({error.strerror})", "make room, or see to its permissions"
        ) from error
