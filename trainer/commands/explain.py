"""What a person reads of an explanation; a view, the value is made by `phraseology.explain`."""

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from phraseology.assessment import COST
from phraseology.elements import Severity
from phraseology.explain import (
    Ban,
    CallExplained,
    ElementExplained,
    Explanation,
    Lacking,
    ReplyExplained,
    Way,
)
from phraseology.standards import Rule

WIDTH = 110
"""Columns at most: longer lines are hard to read."""

_STYLES = {Severity.CRITICAL: "bold red", Severity.MAJOR: "yellow", Severity.MINOR: "cyan", Severity.NONE: ""}
"""Colour beside the word, never instead of it."""

_SCALE = (
    f"Of 100 points a critical fault costs {COST[Severity.CRITICAL]}, a major one {COST[Severity.MAJOR]},"
    f" a minor one {COST[Severity.MINOR]}. What has a critical or a major fault is not accepted."
)


def print_explanation(explanation: Explanation, console: Console) -> None:
    """The call first, then the reply; either may not be there."""
    for what, entry in (("call", explanation.call), ("reply", explanation.reply)):
        if entry is None:
            continue
        console.print(
            Text.assemble((entry.title, "bold"), f"  ({what} {entry.name}, {explanation.standard.title})")
        )
        match entry:
            case Lacking():
                console.print(f"  There is none: {entry.reason}.\n", soft_wrap=True, markup=False)
            case CallExplained():
                _print_call(entry, console)
            case ReplyExplained():
                _print_reply(entry, console)
    if any(
        isinstance(entry, CallExplained | ReplyExplained) for entry in (explanation.call, explanation.reply)
    ):
        console.print(_SCALE)


def _print_call(call: CallExplained, console: Console) -> None:
    console.print(_rows([("when", Text(call.when)), ("model", _quoted(call.model))]))
    console.print("\n  The elements, in this order:")
    console.print(_rows([*map(_element, call.elements), *map(_ban, call.never)]))
    _print_slips(call.slips, console)


def _print_reply(reply: ReplyExplained, console: Console) -> None:
    facts = [
        ("do", Text(reply.do)),
        ("follows", Text(", ".join(reply.follows) or "anything, at any time")),
        ("tower", _quoted(reply.tower)),
        ("answer", _quoted(reply.answer) if reply.answer_due else Text("none is due")),
    ]
    console.print(_rows(facts))
    console.print("\n  Of what the tower says:")
    parts = [
        (
            part.treatment.value,
            part.element,
            _quoted(part.words, " (not always said)" if part.optional else ""),
        )
        for part in reply.parts
    ]
    console.print(_rows(parts))
    answer = "the answer" if reply.answer_due else "an answer, if there is one"
    console.print(f"\n  The elements of {answer}, in any order:")
    console.print(_rows(list(map(_element, reply.elements))))
    _print_slips(reply.slips, console)


def _print_slips(slips: Iterable[str], console: Console) -> None:
    """And the line between one explanation and the next."""
    lines = [("-", Text(slip)) for slip in slips]
    if lines:
        console.print("\n  Common slips:")
        console.print(_rows(lines))
    console.print()


def _rows(rows: Sequence[tuple[str | Text, ...]]) -> Table:
    """Rows whose last cell wraps under itself, indented by two."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=0)
    for _ in rows[0][:-1]:
        grid.add_column(no_wrap=True)
    grid.add_column()
    for row in rows:
        grid.add_row("", *row)
    return grid


def _element(element: ElementExplained) -> tuple[str, str, Text]:
    body = Text("for instance " if element.for_instance else "").append_text(_quoted(element.words))
    for lead, ways in (("as good", element.as_good), ("understood, minor", element.understood)):
        if ways:
            body.append(f"\n{lead}: {_listed(ways)}")
    body.append("\n")
    if element.required:
        body.append_text(_cost("missing", element.missing)).append(", ")
    body.append_text(_cost("wrong", element.wrong)).append_text(_rule(element.rule))
    return "must" if element.required else "may", element.element, body


def _ban(ban: Ban) -> tuple[str, str, Text]:
    words = _quoted(ban.way.words) if ban.way.words is not None else Text("any")
    if ban.but:
        words.append(f" but {_listed(ban.but)}")
    return (
        "never",
        ban.way.element,
        words.append("\n").append_text(_cost("said", ban.severity)) + _rule(ban.rule),
    )


def _cost(fault: str, severity: Severity) -> Text:
    return Text.assemble(f"{fault}: ", (severity.value, _STYLES[severity]))


def _rule(rule: Rule) -> Text:
    return Text.assemble(f"\n{rule.text} ", (f"({rule.source})", "dim"))


def _listed(ways: Iterable[Way]) -> str:
    """Words in quotes; then the elements that any words of do."""
    ways = tuple(ways)
    words = [f'"{way.words}"' for way in ways if way.words is not None]
    kinds = [way.element for way in ways if way.words is None]
    return ", ".join(words + ([f"any words for {' or '.join(kinds)}"] if kinds else []))


def _quoted(words: str, after: str = "") -> Text:
    return Text(f'"{words}"{after}')
