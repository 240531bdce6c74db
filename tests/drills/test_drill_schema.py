"""The published schemas are the parser's own, and say what each key means."""

import json
from importlib import resources
from typing import Any

import pytest

from drills.drill import Drill
from drills.field import Field
from drills.schema import PUBLISHED, schema


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_and_parser_are_equal(name: str) -> None:
    published = json.loads((resources.files("drills") / name).read_text(encoding="utf-8"))
    assert published == schema(name), "run: python -m drills.schema"


def objects(node: Any) -> list[dict[str, Any]]:
    """Every object description in a schema that names its keys."""
    inner = list(node.values()) if isinstance(node, dict) else node if isinstance(node, list) else []
    here = [node] if isinstance(node, dict) and isinstance(node.get("properties"), dict) else []
    return here + [found for part in inner for found in objects(part)]


@pytest.mark.parametrize("model", [Drill, Field])
def test_every_key_is_described_and_no_other_is_allowed(model: type[Drill] | type[Field]) -> None:
    found = objects(model.model_json_schema())
    assert len(found) == 3
    for part in found:
        assert part["additionalProperties"] is False
        for key, said in part["properties"].items():
            assert said["description"].endswith("."), key
            units = {
                "_ft": "feet",
                "_nm": "nautical miles",
                "_deg": "degrees",
                "_s": "seconds",
                "minutes": "minutes",
            }
            for ending, unit in units.items():
                assert not key.endswith(ending) or unit in said["description"], key
