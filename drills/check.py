"""Load drills and fields by name or path, and check a file without flying it."""

import os
from dataclasses import dataclass
from importlib import resources
from pathlib import Path as FilePath

from drills import field as fields
from drills import rules
from drills.drill import Drill
from drills.errors import (
    DrillError,
    Finding,
    Problem,
    Severity,
    UnknownName,
    quoted,
    suggestion,
)
from drills.field import Field
from drills.loader import Document, parse, read
from drills.shape import locate, shape
from phraseology.suggesting import nearest

_LIBRARY = "library"
_FIELDS = "fields"
_FILE_ENDINGS = (".yaml", ".yml")


def drill_names() -> tuple[str, ...]:
    """The bundled drills, sorted."""
    return _bundled(_LIBRARY)


def field_names() -> tuple[str, ...]:
    """The bundled fields, sorted."""
    return _bundled(_FIELDS)


def load_drill(name_or_path: str | FilePath) -> Drill:
    """The drill, with its field looked up and every rule that is an error held; else `DrillError`.

    `Drill.field` of the result can be given to `load_field` as it is: a field file named relative
    to the drill is named from here.
    """
    document = _document(name_or_path, _LIBRARY, "drill")
    drill, findings = _read_drill(document)
    _refuse(findings)
    assert drill is not None  # no errors: it was built
    return drill.model_copy(update={"field": str(_field_of(drill, document))})


def load_field(name_or_path: str | FilePath) -> Field:
    """The field, with every rule that is an error held; else `DrillError`."""
    field, findings = _read_field(_document(name_or_path, _FIELDS, "field"))
    _refuse(findings)
    assert field is not None  # no errors: it was built
    return field


@dataclass(frozen=True)
class Examined:
    """A file as far as it could be read, and everything wrong with it, in file order.

    `content` None: it cannot be used. The field of a drill can be given to `load_field` as it is.
    """

    findings: list[Finding]
    content: Drill | Field | None = None
    document: Document | None = None

    @property
    def has_errors(self) -> bool:
        return any(finding.severity is Severity.ERROR for finding in self.findings)


def check_file(path: str | FilePath) -> list[Finding]:
    """Everything wrong with a drill or field file, in file order. Its first key says which it is."""
    return examine_file(path).findings


def examine_file(path: str | FilePath) -> Examined:
    """The file, and what is wrong with it; it is not flown here."""
    try:
        return examine(read(FilePath(path)))
    except DrillError as error:
        return Examined([error.finding])


def examine(document: Document) -> Examined:
    """The document as a drill or a field, by its first key, and what is wrong with it."""
    if document.first_key == "drill":
        drill, findings = _read_drill(document)
        if drill is not None:
            drill = drill.model_copy(update={"field": str(_field_of(drill, document))})
        return Examined(findings, drill, document)
    if document.first_key == "field":
        field, findings = _read_field(document)
        return Examined(findings, field, document)
    line, column = document.of_key((document.first_key,))
    likely = nearest(document.first_key, ("drill", "field"))
    finding = Finding(
        Severity.ERROR,
        document.file,
        line,
        column,
        f"the first key is {quoted(document.first_key)}",
        f'write "{likely}"' if likely else 'begin a drill with "drill:" and a field with "field:"',
    )
    return Examined([finding], None, document)


def located(problems: list[Problem], document: Document) -> list[Finding]:
    """Problems at their lines and columns, in file order."""
    found = [locate(problem, document) for problem in problems]
    return sorted(found, key=lambda finding: (finding.line, finding.column))


def _refuse(findings: list[Finding]) -> None:
    for finding in findings:
        if finding.severity is Severity.ERROR:
            raise DrillError.of(finding)


def _read_field(document: Document) -> tuple[Field | None, list[Finding]]:
    found = shape(Field, document)
    if isinstance(found, list):
        return None, found
    return found, located(list(fields.problems(found)), document)


def _read_drill(document: Document) -> tuple[Drill | None, list[Finding]]:
    found = shape(Drill, document)
    if isinstance(found, list):
        return None, found
    try:
        field = load_field(_field_of(found, document))
    except UnknownName as error:
        problem = Problem(("field",), error.problem, suggestion(found.field, error.choices))
        return None, [locate(problem, document)]
    except DrillError as error:
        problem = Problem(("field",), f"its field cannot be used: {error.problem}", f"see {error.place}")
        return None, [locate(problem, document)]
    return found, located(list(rules.problems(found, field)), document)


def _field_of(drill: Drill, document: Document) -> str | FilePath:
    """The name of a bundled field, or the field file seen from here."""
    if _is_path(drill.field):
        return FilePath(document.file).parent / drill.field
    return drill.field


def _is_path(name: str | FilePath) -> bool:
    return isinstance(name, FilePath) or name.endswith(_FILE_ENDINGS) or "/" in name or os.sep in name


def _bundled(folder: str) -> tuple[str, ...]:
    entries = (resources.files("drills") / folder).iterdir()
    names = (entry.name for entry in entries)
    return tuple(sorted(name.removesuffix(".yaml") for name in names if name.endswith(".yaml")))


def _document(name_or_path: str | FilePath, folder: str, what: str) -> Document:
    if _is_path(name_or_path):
        return read(FilePath(name_or_path))
    name = str(name_or_path)
    if name not in _bundled(folder):
        raise UnknownName(what, name, _bundled(folder))
    return parse((resources.files("drills") / folder / f"{name}.yaml").read_bytes(), f"{name}.yaml")
