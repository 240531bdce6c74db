"""Whether what is kept of a session is as it is written: asked before a session is read that may come from
another machine, an older patternvoice or an editor. Only what is read is looked at; more may stand beside it.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from phraseology.assess import Verdict
from phraseology.elements import Severity

_Number = Annotated[float, Field(strict=True)]
"""Not a text with a number in it: what is checked here is then read as it stands."""
_Second = Annotated[_Number, Field(ge=0, le=1e7)]


class _Kept(BaseModel):
    model_config = ConfigDict(extra="allow", allow_inf_nan=False, frozen=True)


class _Event(_Kept):
    at: _Second


class Mark(_Kept):
    """One element of a judged call."""

    element: str = Field(max_length=60)
    verdict: Verdict
    severity: Severity
    expected: str = ""
    heard: str = ""
    rule: str = ""


class Judged(_Event):
    """A call of the trainee with its marks."""

    call: str = Field(max_length=80)
    score: int = Field(ge=0, le=100, strict=True)
    accepted: bool = Field(strict=True)
    critical: list[str]
    elements: list[Mark] = Field(max_length=100)
    heard: str = ""
    model_call: str = ""
    consequence: str = ""
    answer_s: Annotated[_Number, Field(ge=0, le=86_400)] | None = None


class _Missed(_Event):
    call: str = Field(max_length=80)
    consequence: str = ""


class _Tower(_Event):
    to: str
    words: str
    reasons: list[str]
    note: str = ""


class _Other(_Event):
    aircraft: str
    words: str


class _Leg(_Event):
    aircraft: str
    leg: str


class _Due(_Event):
    call: str
    model_call: str


class _Happened(_Event):
    words: str
    note: str = ""


class _Light(_Event):
    signal: str
    meaning: str


_EVENTS: dict[str, type[_Event]] = {
    "TraineeSpoke": Judged,
    "CallMissed": _Missed,
    "TowerSpoke": _Tower,
    "OtherSpoke": _Other,
    "LegEntered": _Leg,
    "CallDue": _Due,
    "Happened": _Happened,
    "LightSignal": _Light,
}
_Place = tuple[_Number, _Number]


class _Chart(_Kept):
    runway: tuple[_Place, _Place]
    points: dict[str, _Place]


class _Meta(_Kept):
    chart: _Chart | None = None


class _Summary(_Kept):
    at: _Second = 0.0
    reason: str


def check_session(
    meta: Mapping[str, Any], summary: Mapping[str, Any] | None, events: Sequence[Mapping[str, Any]]
) -> None:
    """ValueError in a few words for the first thing that could not be read."""
    try:
        json.dumps([meta, summary, events], allow_nan=False)
        _Meta.model_validate(meta)
        if summary is not None:
            _Summary.model_validate(summary)
        for number, event in enumerate(events, 1):
            name = event.get("event")
            if not isinstance(name, str):
                raise ValueError(f"an event without name or time, number {number}")
            _EVENTS.get(name, _Event).model_validate(event)
    except ValidationError as error:
        first = error.errors()[0]
        raise ValueError(
            f"{error.title.lstrip('_')}: {'.'.join(map(str, first['loc']))}: {first['msg']}"
        ) from None
