"""What a good instructor would say of a call, case by case, and that the judge says the same.

The files in `cases` are the instructor's word: what was said (after what the controller said),
whether the tower could act on it, and every fault that costs anything, with its severity.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from phraseology.assess import Verdict, assess
from phraseology.calls import CALLS, expect
from phraseology.expected import Context, Expected
from phraseology.parse import World
from phraseology.readback import answer_to
from phraseology.replies import REPLIES, read_message
from phraseology.standards import STANDARDS, standard

FILES = sorted((Path(__file__).parent / "cases").glob("*.yaml"))
AT_LEAST = 10

CORBEL = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
SABLE_21 = Context(
    standard=standard("us_military_tower"),
    world=CORBEL,
    callsign="SABLE 21",
    runway="31",
    station="corbel tower",
    intention="touch_and_go",
    point="QUARRY",
)


def load(path: Path) -> dict[str, Any]:
    contents: dict[str, Any] = YAML(typ="safe").load(path)
    return contents


def cases() -> Iterator[Any]:
    for path in FILES:
        file = load(path)
        for accepted in (True, False):
            for case in file["right" if accepted else "wrong"]:
                words = case["said"] or "(silence)"
                yield pytest.param(file, case, accepted, id=f"{path.stem}: {words}")


def expected_of(file: dict[str, Any], case: dict[str, Any]) -> Expected:
    given = {**file.get("context", {}), **case.get("context", {})}
    given["standard"] = standard(given.get("standard", "us_military_tower"))
    context = SABLE_21.with_(**given)
    if "call" in case or ("call" in file and "after" not in case):
        return expect(case.get("call", file.get("call")), context)
    return answer_to(read_message(after(file, case), context.world), context)


def after(file: dict[str, Any], case: dict[str, Any]) -> str:
    """What the controller had said."""
    return str(case.get("after", file.get("after")))


@pytest.mark.parametrize(("file", "case", "accepted"), cases())
def test_the_judge_agrees_with_the_instructor(
    file: dict[str, Any], case: dict[str, Any], accepted: bool
) -> None:
    assessment = assess(expected_of(file, case), case["said"])
    faults = [
        f"{judged.element} {judged.verdict.value} {judged.severity.value}"
        for judged in assessment.elements
        if judged.verdict is not Verdict.RIGHT
    ]
    assert (sorted(faults), assessment.accepted) == (sorted(case.get("faults", [])), accepted), case["why"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_file_has_enough_of_both(path: Path) -> None:
    file = load(path)
    assert len(file["right"]) >= AT_LEAST
    assert len(file["wrong"]) >= AT_LEAST


def test_every_call_has_a_file_of_cases() -> None:
    assert {file["call"] for file in map(load, FILES) if "call" in file} == set(CALLS)


def test_every_standard_has_cases() -> None:
    named = {
        case.get("context", file.get("context", {})).get("standard", "us_military_tower")
        for file in map(load, FILES)
        for case in (*file["right"], *file["wrong"])
    }
    assert named == set(STANDARDS)


def test_every_reply_is_answered_in_a_case() -> None:
    messages = [
        after(file, case)
        for file in map(load, FILES)
        for case in (*file["right"], *file["wrong"])
        if "call" not in case and ("after" in case or "answer" in file)
    ]
    answered = {read_message(words, CORBEL).kind for words in messages}
    assert set(REPLIES) - answered == set()
