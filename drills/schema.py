"""The published JSON schemas of both file kinds, made from the models that read them.

`python -m drills.schema` writes them beside the package's code; an editor that knows JSON schema then
completes and checks a file while it is written.
"""

import json
from pathlib import Path
from typing import Any

from drills.drill import Drill
from drills.field import Field
from drills.shape import Written

PUBLISHED: dict[str, type[Written]] = {"drill.schema.json": Drill, "field.schema.json": Field}


def schema(name: str) -> dict[str, Any]:
    """The schema that belongs in the file of this name."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **PUBLISHED[name].model_json_schema(by_alias=True),
    }


def publish(folder: Path) -> None:
    """Write every schema into the folder."""
    for name in PUBLISHED:
        text = json.dumps(schema(name), indent=2, ensure_ascii=False) + "\n"
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    publish(Path(__file__).parent)
