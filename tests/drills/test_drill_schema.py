"""The published schemas are the parser's own, and say what each key means."""

import json
from importlib import resources
from typing import Any

import pytest

from drills.drill import Drill
from drills.field import Field
from drills.replies import REPLIES
from drills.schema import GUIDE, PUBLISHED, guide, schema
from drills.steps import Condition, Does, Happening, Required, TowerStep, Traffic


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_and_parser_are_equal(name: str) -> None:
    published = json.loads((resources.files("drills") / name).read_text(encoding="utf-8"))
    assert published == schema(name), "run: python -m drills.schema"


def test_the_guide_is_the_models_own() -> None:
    published = (resources.files("drills") / GUIDE).read_text(encoding="utf-8")
    assert published == guide(), "run: python -m drills.schema"


def test_the_guide_names_every_key_reply_and_choice() -> None:
    text = guide()
    for part in objects(schema("drill.schema.json")):
        for key in part["properties"]:
            assert f"`{key}`" in text, key
    for replies in REPLIES.values():
        assert all(f"`{reply}`" in text for reply in replies)


def test_the_loader_takes_what_the_schema_says_and_nothing_else() -> None:
    """Key by key: the properties and the required keys of every part are the model's fields and its musts."""
    found = schema("drill.schema.json")
    parts = {"Drill": found, **found["$defs"]}
    for model in (Drill, Traffic, Does, TowerStep, Condition, Happening, Required):
        fields = {field.alias or name: field for name, field in model.model_fields.items()}
        assert set(parts[model.__name__]["properties"]) == set(fields)
        musts = {key for key, field in fields.items() if field.is_required()}
        assert set(parts[model.__name__].get("required", ())) == musts


def objects(node: Any) -> list[dict[str, Any]]:
    """Every object description in a schema that names its keys."""
    inner = list(node.values()) if isinstance(node, dict) else node if isinstance(node, list) else []
    here = [node] if isinstance(node, dict) and isinstance(node.get("properties"), dict) else []
    return here + [found for part in inner for found in objects(part)]


@pytest.mark.parametrize(("model", "parts"), [(Drill, 7), (Field, 3)])
def test_every_key_is_described_and_no_other_is_allowed(model: type[Drill] | type[Field], parts: int) -> None:
    found = objects(model.model_json_schema())
    assert len(found) == parts
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
