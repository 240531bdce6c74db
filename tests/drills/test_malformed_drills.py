"""Drills of the library, each spoilt in one place: a place, a remedy, and no traceback."""

import random
import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from drills.check import drill_names
from drills.errors import Severity
from trainer.commands.check import check

AT_LEAST = 200
_KEY = re.compile(r"^(?P<lead>\s*(?:- )?)(?P<key>[a-z_]+):(?P<rest> .*)?$")
_NEEDED = {
    *("goal", "expected_minutes", "field", "runway", "callsign", "aircraft"),
    *("time_limit_minutes", "circuits", "on", "reply", "point", "where", "seconds", "behind", "to"),
}
_NAMES = ("field", "runway", "aircraft", "entry_point", "atis", "pace", "hints", "reply", "trainee", "trap")
_NUMBERS = ("expected_minutes", "altitude_ft", "time_limit_minutes", "pass_mark", "occurrence", "seconds")


@dataclass(frozen=True)
class Spoilt:
    """`line` and `column` where the finding must stand; column 0: anywhere in it; line 0: anywhere."""

    how: str
    text: str
    line: int
    column: int = 0


def spoilt(text: str) -> Iterator[Spoilt]:
    """Every single slip of these kinds in a drill."""
    lines = text.splitlines()
    for number, line in enumerate(lines, 1):
        found = _KEY.match(line)
        if found is None or number == 1 or (line.startswith("  ") and _in_folded(lines, number)):
            continue
        lead, key, rest = found["lead"], found["key"], found["rest"] or ""

        def with_line(new: str, at: int = number) -> str:
            return "\n".join([*lines[: at - 1], *([new] if new else []), *lines[at:]]) + "\n"

        column = len(lead) + 1
        yield Spoilt("misspelt key", with_line(f"{lead}{key}x:{rest}"), number, column)
        yield Spoilt("key without colon", with_line(f"{lead}{key}{rest}"), 0)
        if rest and rest != " >":
            yield Spoilt("key twice", with_line(f"{line}\n{' ' * len(lead)}{key}:{rest}"), number + 1, column)
            yield Spoilt("a group in place of a value", with_line(f"{lead}{key}: {{a: b}}"), number)
            yield Spoilt("an open quote", with_line(f'{lead}{key}: "{rest.strip()}'), 0)
            yield Spoilt("an alias", with_line(f"{lead}{key}: *{key}"), number)
        if key in _NAMES:
            yield Spoilt("a name that is none", with_line(f"{lead}{key}: nonsense"), number)
        if key in _NUMBERS:
            yield Spoilt("a number below all sense", with_line(f"{lead}{key}: -3"), number)
            yield Spoilt("a number in words", with_line(f"{lead}{key}: seven"), number)
        if key in _NEEDED and not lead.endswith("- ") and rest and rest != " >":
            yield Spoilt("a needed key left out", with_line(""), 0)


def _in_folded(lines: list[str], number: int) -> bool:
    """The line is part of a text that was begun with ">"."""
    above = next((line for line in reversed(lines[: number - 1]) if not line.startswith("  ")), "")
    return above.endswith(">")


def test_two_hundred_malformed_drills_each_give_a_place_and_a_remedy(tmp_path: Path) -> None:
    every = [
        (name, slip)
        for name in drill_names()
        for slip in spoilt((resources.files("drills") / "library" / f"{name}.yaml").read_text("utf-8"))
    ]
    kinds = {slip.how for _, slip in every}
    random.Random(8).shuffle(every)
    chosen = every[: AT_LEAST + 60]
    assert {slip.how for _, slip in chosen} == kinds
    assert len(chosen) >= AT_LEAST
    for name, slip in chosen:
        path = tmp_path / f"{name}.yaml"
        path.write_text(slip.text, encoding="utf-8")
        findings = [finding for finding in check(path) if finding.severity is Severity.ERROR]
        assert findings, f"{slip.how} in {name} passes"
        first = findings[0]
        count = len(slip.text.splitlines())
        for finding in findings:
            assert finding.message, (slip, name)
            assert finding.remedy, (slip, name)
            assert 1 <= finding.line <= count + 1
            assert finding.column >= 1
            assert str(finding).startswith(f"{path}:{finding.line}:{finding.column}: error: ")
        if slip.line:
            places = [(finding.line, finding.column) for finding in findings]
            lines = [line for line, _ in places]
            assert slip.line in lines, f"{slip.how} in {name}, line {slip.line}: {first}"
            assert not slip.column or (slip.line, slip.column) in places, f"{slip.how} in {name}: {first}"
