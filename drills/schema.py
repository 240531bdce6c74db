"""The published JSON schemas and the guide to the drill format, made from the models that read the files.

`python -m drills.schema` writes them beside the package's code; an editor that knows JSON schema then
completes and checks a file while it is written.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

from drills.drill import Drill
from drills.field import Field
from drills.replies import ANNOUNCED, EVENT_TAKES, REPLIES, TAKES, TO_ALL, TRAPS
from drills.shape import Written
from drills.steps import Element

PUBLISHED: dict[str, type[Written]] = {"drill.schema.json": Drill, "field.schema.json": Field}
GUIDE = "FORMAT.md"

_HEAD = """# The drill format

A drill is a YAML file whose first key is `drill`. This page is written by `python -m drills.schema` from the
models that read the files, and a test holds them equal. Keys in **bold** must be there. Runways, times and
settings stand in quotes.

Each call is answered by one step under `tower`: the first whose `when` holds; failing that, the one for this
occurrence; failing that, the one for any. Without a step the tower decides from the traffic. Entry point,
altitude, letter, altimeter setting and wind that a drill leaves out are drawn by the seed of the session, and
so are a call sign from a list and the traffic of `demand`. A drill is passed with a score of `pass_mark` or
more, no critical fault, and no more than `tolerated_minors` minor ones.
"""


def schema(name: str) -> dict[str, Any]:
    """The schema that belongs in the file of this name."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **PUBLISHED[name].model_json_schema(by_alias=True),
    }


def guide() -> str:
    """The guide to the drill format."""
    found = schema("drill.schema.json")
    parts = [_HEAD, *_section("A drill", found)]
    for name, title in (
        ("Traffic", "Each of `traffic`"),
        ("Does", "Each of `does`"),
        ("TowerStep", "Each of `tower`"),
        ("Condition", "`when`, a branch"),
        ("Happening", "Each of `events`"),
        ("Required", "Each of `required`"),
    ):
        parts += _section(title, found["$defs"][name])
    parts += ["\n## Replies by call\n", "| `on` | `reply`, with the keys that it needs |", "|---|---|"]
    for call, replies in REPLIES.items():
        parts.append(f"| `{call}` | {', '.join(_with(reply, TAKES) for reply in replies)} |")
    parts.append("\nTraps: " + "; ".join(f"`{name}` {says}" for name, says in TRAPS.items()) + ".")
    announced = ", ".join(_with(name, EVENT_TAKES) for name in ANNOUNCED)
    parts.append(f"\nWhat an event may have the tower say: {announced}; to all: {', '.join(sorted(TO_ALL))}.")
    parts.append(f"\nElements that a required call may have to carry: {', '.join(get_args(Element))}.")
    return "\n".join(parts) + "\n"


def _with(name: str, takes: dict[str, frozenset[str]]) -> str:
    keys = ", ".join(sorted(takes.get(name, ())))
    return f"`{name}` ({keys})" if keys else f"`{name}`"


def _section(title: str, part: dict[str, Any]) -> Iterator[str]:
    yield f"\n## {title}\n"
    yield f"{part['description']}\n"
    yield "| key | what it is | values |"
    yield "|---|---|---|"
    needed = part.get("required", ())
    for key, said in part["properties"].items():
        name = f"**`{key}`**" if key in needed else f"`{key}`"
        yield f"| {name} | {said['description']} | {_values(said)} |"


def _values(said: dict[str, Any]) -> str:
    """The choices or the range, and the default; "" where any text will do."""
    options = [each for each in said.get("anyOf", [said]) if each.get("type") != "null"]
    words = []
    for option in options:
        choices = option.get("enum") or ([option["const"]] if "const" in option else [])
        if len(choices) > 14:
            words.append("one of its table" if "alfa" not in choices else "alfa to zulu")
        elif choices:
            words.append(", ".join(f"`{choice}`" for choice in choices))
        least = option.get("minimum", option.get("exclusiveMinimum"))
        most = option.get("maximum", option.get("maxItems"))
        if least is not None and most is not None:
            words.append(f"{'over ' if 'exclusiveMinimum' in option else ''}{least:g} to {most:g}")
        elif most is not None:
            words.append(f"{most:g} at most")
    default = said.get("default")
    if default not in (None, []):
        words.append(f"if left out: `{default}`")
    return "; ".join(words)


def publish(folder: Path) -> None:
    """Write every schema and the guide into the folder."""
    for name in PUBLISHED:
        text = json.dumps(schema(name), indent=2, ensure_ascii=False) + "\n"
        (folder / name).write_text(text, encoding="utf-8")
    (folder / GUIDE).write_text(guide(), encoding="utf-8")


if __name__ == "__main__":
    publish(Path(__file__).parent)
