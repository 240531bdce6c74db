"""What was due in a recording that is judged again: from a list beside it, or from a session's events."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

from drills.check import field_names, load_field
from trainer.commands.question import Question
from trainer.errors import TrainerError
from trainer.logbook.indexing import ANSWER
from trainer.school.roster import read_table

LIST = "questions.csv"
_NUMBERS = ("altitude_ft", "distance_nm", "fuel_min", "souls")
_OF_ELEMENT = {
    "intention": "intention",
    "point": "point",
    "altitude": "altitude_ft",
    "distance": "distance_nm",
    "atis": "atis",
    "where": "where",
    "position": "position",
    "request": "request",
    "flight": "flight",
    "nature": "nature",
    "fuel": "fuel_min",
    "souls": "souls",
}
"""Which key of a question an element's expected value is."""


def listed_questions(folder: Path) -> dict[str, Question]:
    """The questions of `questions.csv` in the folder by file, as it is named from there; {} without a list.

    TrainerError with the line for a column or a value that cannot stand there.
    """
    path = folder / LIST
    if not path.is_file():
        return {}
    known = {each.name for each in fields(Question)}
    try:
        reader = csv.DictReader(io.StringIO(read_table(path)), strict=True)
        for column in reader.fieldnames or ():
            if column not in known and column != "file":
                raise TrainerError(
                    f'{path}: no column "{column}"', f"choose of: file, {', '.join(sorted(known))}"
                )
        if "file" not in (reader.fieldnames or ()):
            raise TrainerError(f"{path} has no column file", "name each recording in it")
        return {row["file"]: _question(path, reader.line_num, row) for row in reader}
    except csv.Error as error:
        raise TrainerError(f"{path} is not a CSV file ({error})", "save it as one") from None


def _question(path: Path, line: int, row: Mapping[str, Any]) -> Question:
    try:
        if None in row:
            raise ValueError("more cells than columns")
        given = {name: value.strip() for name, value in row.items() if name != "file" and value}
        return _with(Question(), **{n: int(value) if n in _NUMBERS else value for n, value in given.items()})
    except (ValueError, TypeError, AttributeError):
        raise TrainerError(
            f"{path}, line {line}: a value that cannot stand there",
            f"{', '.join(_NUMBERS)} are whole numbers",
        ) from None


def question_of(meta: Mapping[str, Any], events: Sequence[Mapping[str, Any]], place: int) -> Question:
    """What was due when the trainee's call at this place of a session's events was made.

    TrainerError where the field is none of those at hand, or the tower's words are not kept.
    """
    event = events[place]
    base = Question(
        field=_field(str(meta.get("field", ""))),
        runway=str(meta.get("runway", "")),
        callsign=str(meta.get("callsign", "")),
    )
    given: dict[str, Any] = {}
    for element in event["elements"]:
        key = _OF_ELEMENT.get(element["element"])
        expected = element.get("expected")
        if key is not None and expected:
            given[key] = _number(expected) if key in _NUMBERS else expected
    name = str(event["call"])
    if not name.startswith(ANSWER):
        return _with(base, call=name, **given)
    return _with(base, after=_asked(events[:place], base.callsign, name.removeprefix(ANSWER)))


def _number(written: str) -> int:
    if not written.isascii() or not written.isdigit() or len(written) > 9:
        raise TrainerError(f'"{written[:40]}" is no number of a call', "judge it by ear")
    return int(written)


def _asked(before: Sequence[Mapping[str, Any]], callsign: str, reply: str) -> str:
    """The tower's last words to the trainee that were this reply."""
    for event in reversed(before):
        if (
            event["event"] == "TowerSpoke"
            and event.get("reply") == reply
            and event.get("to") in (callsign, "")
        ):
            return str(event["words"])
    raise TrainerError(f"what the tower said before the answer to {reply} is not kept", "judge it by ear")


def _with(base: Question, **given: Any) -> Question:
    return Question(
        **{each.name: given.get(each.name, getattr(base, each.name)) for each in fields(Question)}
    )


def _field(title: str) -> str:
    """The bundled field of this title."""
    for name in field_names():
        if load_field(name).field == title:
            return name
    raise TrainerError(
        f'no bundled field is called "{title}"', "judge recordings of your own fields with hear --field"
    )
