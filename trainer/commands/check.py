"""What `patternvoice check` says of a file: how it is written, and what flying it shows."""

from pathlib import Path

from drills.check import Examined, examine_file, load_field, located
from drills.drill import Drill
from drills.errors import Finding, Problem
from drills.field import Field
from trainer import field_checks
from trainer.pattern.errors import PatternError
from trainer.rehearsal import rehearse


def check(path: Path) -> list[Finding]:
    """Everything wrong with a drill or field file, in file order. A drill without errors is flown once."""
    return complete(examine_file(path)).findings


def complete(examined: Examined) -> Examined:
    """What was found in a file, and what flying it shows besides."""
    content, document = examined.content, examined.document
    if examined.has_errors or content is None or document is None:
        return examined
    problems = list(field_checks.problems(content)) if isinstance(content, Field) else _flown(content)
    findings = sorted([*examined.findings, *located(problems, document)], key=lambda f: (f.line, f.column))
    return Examined(findings, content, document)


def _flown(drill: Drill) -> list[Problem]:
    try:
        return list(rehearse(drill, load_field(drill.field)).problems())
    except PatternError as error:
        said, _, remedy = str(error).partition(": ")
        return [Problem(("field",), said, remedy or "check its field file")]
