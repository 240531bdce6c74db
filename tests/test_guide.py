"""DEVELOPERS.md holds tables that are made from the code; this keeps them equal.

`python tests/test_guide.py` writes them anew.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from phraseology.calls import CALLS
from phraseology.example import example_context
from phraseology.explain import Lacking, Treatment, explain_call, explain_reply
from phraseology.replies import REPLIES, read_message
from phraseology.standards import STANDARDS, Standard
from trainer.pattern.machine import transition_table

GUIDE = Path(__file__).parent.parent / "DEVELOPERS.md"
CASES = Path(__file__).parent / "phraseology" / "cases"


def transitions() -> str:
    rows = ["| leg | trigger | next leg |", "|---|---|---|"]
    rows += [f"| {leg} | {trigger} | {target} |" for leg, trigger, target in transition_table()]
    return "\n".join(rows)


def picture() -> str:
    """The machine as a Mermaid diagram; triggers that stay on their leg are left to the table."""
    arrows: dict[tuple[str, str], list[str]] = {}
    for leg, trigger, target in transition_table():
        if leg != target:
            arrows.setdefault((leg, target), []).append(trigger.split(" if ")[0].replace("_", " "))
    lines = [
        f"    {leg} --> {target}: {' / '.join(dict.fromkeys(names))}"
        for (leg, target), names in arrows.items()
    ]
    return "\n".join(
        ["```mermaid", "stateDiagram-v2", "    [*] --> inbound", *lines, "    clear_of_runway --> [*]", "```"]
    )


# -- what each standard has, and what is tested of it ---------------------------------------------------


@dataclass(frozen=True)
class Case:
    """A case of tests/phraseology/cases: of a call, or else of the answer to a message."""

    standard: str
    call: str | None
    reply: str | None
    right: bool


@cache
def cases() -> tuple[Case, ...]:
    found = []
    for path in sorted(CASES.glob("*.yaml")):
        file = YAML(typ="safe").load(path)
        for right, case in [(True, case) for case in file["right"]] + [
            (False, case) for case in file["wrong"]
        ]:
            context = {**file.get("context", {}), **case.get("context", {})}
            std = STANDARDS[context.get("standard", "us_military_tower")]
            call = case.get("call") or (None if "after" in case else file.get("call"))
            words = case.get("after", file.get("after"))
            reply = None if call else read_message(words, example_context(std).world).kind
            found.append(Case(std.name, call, reply, right))
    return tuple(found)


def number_of_cases(*, call: str | None = None, reply: str | None = None) -> str:
    """Right and wrong ones: "12 / 15"."""
    right = [case.right for case in cases() if (case.call, case.reply) == (call, reply)]
    return f"{sum(right)} / {len(right) - sum(right)}"


def call_cell(name: str, std: Standard) -> str:
    """How many elements must be said, and how many may be."""
    entry = explain_call(CALLS[name], std)
    if isinstance(entry, Lacking):
        return f"none: {entry.reason}"
    must = sum(element.required for element in entry.elements)
    return f"{must} + {len(entry.elements) - must}"


def reply_cell(name: str, std: Standard) -> str:
    """What the pilot does with the elements of the message."""
    entry = explain_reply(REPLIES[name], std)
    if isinstance(entry, Lacking):
        return f"none: {entry.reason}"
    if not entry.answer_due:
        return "no answer due"
    if entry.count(Treatment.ANSWER):
        return "answers"
    read_back = entry.count(Treatment.READ_BACK)
    return (
        f"reads back {read_back} of {len(entry.parts)}" if read_back else f"acknowledges {len(entry.parts)}"
    )


def table(*header: str, rows: Iterable[Sequence[str]]) -> str:
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


TITLES = tuple(std.title for std in STANDARDS.values())


def calls() -> str:
    rows = [
        (
            f"`{call.name}`",
            call.when,
            ", ".join(slot.kind.value for slot in call.slots),
            *(call_cell(call.name, std) for std in STANDARDS.values()),
            number_of_cases(call=call.name),
        )
        for call in CALLS.values()
    ]
    lacking = sum(len(std.without_calls) for std in STANDARDS.values())
    of_calls = [case.right for case in cases() if case.call]
    footer = (
        f"{len(CALLS)} calls in {len(STANDARDS)} standards: {len(CALLS) * len(STANDARDS) - lacking} there are,"
        f" {lacking} there are not, each with its reason. {len(of_calls)} cases of calls: {sum(of_calls)} right,"
        f" {len(of_calls) - sum(of_calls)} wrong."
    )
    return f"{table('call', 'when', 'elements', *TITLES, 'cases', rows=rows)}\n\n{footer}"


def replies() -> str:
    rows = [
        (
            f"`{reply.name}`",
            reply.do,
            ", ".join(reply.answers) or "at any time",
            ", ".join(part.kind.value for part in reply.parts),
            *(reply_cell(reply.name, std) for std in STANDARDS.values()),
            number_of_cases(reply=reply.name),
        )
        for reply in REPLIES.values()
    ]
    lacking = sum(len(std.without_replies) for std in STANDARDS.values())
    answers = [case for case in cases() if not case.call]
    right = sum(case.right for case in answers)
    mixed = sum(case.reply not in REPLIES for case in answers)
    footer = (
        f"{len(REPLIES)} replies in {len(STANDARDS)} standards: {len(REPLIES) * len(STANDARDS) - lacking} there are,"
        f" {lacking} there are not, each with its reason. {len(answers)} cases of answers: {right} right,"
        f" {len(answers) - right} wrong; {mixed} of them answer a message that is no single reply of the table."
    )
    return f"{table('reply', 'do', 'follows', 'elements', *TITLES, 'cases', rows=rows)}\n\n{footer}"


SECTIONS = {"transitions": transitions, "picture": picture, "calls": calls, "replies": replies}


def with_sections(text: str) -> str:
    """The guide with every section between its marks made anew."""
    for name, make in SECTIONS.items():
        begin, end = f"<!-- {name} -->\n", f"<!-- end of {name} -->"
        before, rest = text.split(begin)
        after = rest.split(end)[1]
        text = f"{before}{begin}{make()}\n{end}{after}"
    return text


def test_the_tables_of_the_guide_are_those_of_the_code():
    text = GUIDE.read_text(encoding="utf-8")
    assert with_sections(text) == text, "run: python tests/test_guide.py"


A_CALL = r"\d+ \+ \d+|none: \S.+"
A_REPLY = r"reads back [1-9]\d* of \d+|acknowledges \d+|answers|no answer due|none: \S.+"


@pytest.mark.parametrize(
    ("names", "cell", "pattern"), [(CALLS, call_cell, A_CALL), (REPLIES, reply_cell, A_REPLY)]
)
def test_no_cell_is_empty_without_a_reason(
    names: Iterable[str], cell: Callable[[str, Standard], str], pattern: str
) -> None:
    for name in names:
        for std in STANDARDS.values():
            assert re.fullmatch(pattern, cell(name, std)), (name, std.name)


@pytest.mark.parametrize("std", STANDARDS.values(), ids=lambda std: std.name)
def test_what_a_standard_lacks_is_in_the_catalogue_and_has_no_cases(std: Standard) -> None:
    assert std.without_calls.keys() <= CALLS.keys()
    assert std.without_replies.keys() <= REPLIES.keys()
    here = [case for case in cases() if case.standard == std.name]
    assert not {case.call for case in here} & std.without_calls.keys()
    assert not {case.reply for case in here} & std.without_replies.keys()


def test_every_call_has_right_and_wrong_cases_and_every_reply_has_some() -> None:
    for name in CALLS:
        assert not re.search(r"\b0\b", number_of_cases(call=name)), name
    for name in REPLIES:
        assert number_of_cases(reply=name) != "0 / 0", name


if __name__ == "__main__":
    GUIDE.write_text(with_sections(GUIDE.read_text(encoding="utf-8")), encoding="utf-8")
