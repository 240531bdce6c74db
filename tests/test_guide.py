"""DEVELOPERS.md holds tables that are made from the code; this keeps them equal.

`python tests/test_guide.py` writes them anew.
"""

from pathlib import Path

from phraseology.calls import CALLS
from phraseology.replies import REPLIES
from trainer.pattern.machine import transition_table

GUIDE = Path(__file__).parent.parent / "DEVELOPERS.md"


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


def calls() -> str:
    rows = ["| call | when | elements |", "|---|---|---|"]
    rows += [
        f"| `{call.name}` | {call.when} | {', '.join(slot.kind.value for slot in call.slots)} |"
        for call in CALLS.values()
    ]
    return "\n".join(rows)


def replies() -> str:
    rows = ["| reply | follows | elements |", "|---|---|---|"]
    rows += [
        f"| `{reply.name}` | {', '.join(reply.answers)} | {', '.join(part.kind.value for part in reply.parts)} |"
        for reply in REPLIES.values()
    ]
    return "\n".join(rows)


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


if __name__ == "__main__":
    GUIDE.write_text(with_sections(GUIDE.read_text(encoding="utf-8")), encoding="utf-8")
