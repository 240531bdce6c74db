"""What can be chosen before a flight, what is chosen, and what stands in its way: for the start screen."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from drills.check import drill_names, field_names, load_drill, load_field
from drills.drill import Drill
from drills.errors import DrillError
from drills.field import Field
from phraseology.elements import Callsign
from phraseology.errors import PhraseologyError
from phraseology.standards import STANDARDS
from trainer.pattern.profiles import PROFILES
from trainer.session.difficulty import LEVELS
from trainer.settings import Choice, Recordings

FREE_FLIGHT = "free flight"
Content = TypeVar("Content", Drill, Field)
Value = TypeVar("Value")
_PACES = {
    None: "as the drill has it",
    "real": "real time",
    "quick": "quick between calls",
    "patient": "patient: waits for you",
}
_EARS = {
    "spoken": "by voice",
    "typed": "typed, the tower is heard",
    "silent": "typed, without sound",
}
_RECORDINGS: dict[Recordings, str] = {
    "off": "no sound is kept",
    "flac": "kept for the debrief, as FLAC",
    "wav": "kept for the debrief, as WAV",
}


@dataclass(frozen=True)
class Row:
    """One thing to choose. `fixed`: the drill says it."""

    name: str
    label: str
    value: str
    fixed: bool = False


class Choosing:
    """The choice as it stands. `level`: of difficulty, where the last free flight ended.

    `recordings` holds for every flight from now on, so it is no part of `Choice`.
    """

    def __init__(self, last: Choice, level: float, recordings: Recordings = "off") -> None:
        self.choice = last
        self.recordings = recordings
        self.difficulty: str | None = None
        self._level = level

    @property
    def drill(self) -> Drill | None:
        """The drill chosen; None: free flight, or it cannot be read (`problem` says why)."""
        return _drill(self.choice.drill)[0] if self.choice.drill else None

    @property
    def field(self) -> Field | None:
        """Where it will be flown; None if its file cannot be read."""
        return _field(self.drill.field if self.drill else self.choice.field)[0]

    @property
    def problem(self) -> str | None:
        """Why this cannot be flown, and what to do; None: it can."""
        try:
            Callsign.of(self.choice.callsign)
        except PhraseologyError as error:
            return str(error)
        if self.choice.drill and self.drill is None:
            return _drill(self.choice.drill)[1]
        return _field(self.drill.field if self.drill else self.choice.field)[1]

    def rows(self) -> list[Row]:
        """All but the callsign, in the order of the screen."""
        chosen, drill, field = self.choice, self.drill, self.field
        fixed = chosen.drill is not None
        standard = chosen.standard if not fixed and chosen.standard else field.standard if field else ""
        own = "" if fixed or chosen.standard else ", as the field has it"
        aircraft = drill.aircraft.replace("_", " ") if drill else chosen.aircraft
        level = f"{self._level:g} of 100; it follows your calls"
        if self.difficulty is not None:
            level = f"{self.difficulty}, {LEVELS[self.difficulty]:g} of 100"
        pace = chosen.pace if fixed or chosen.pace else "real"
        silent = chosen.ears == "silent"
        kept: Recordings = "off" if silent else self.recordings
        return [
            Row("drill", "Fly", drill.drill if drill else chosen.drill or FREE_FLIGHT),
            Row("field", "Field", field.field if field else chosen.field, fixed),
            Row("standard", "Standard", (STANDARDS[standard].title if standard else "") + own, fixed),
            Row("aircraft", "Aircraft", aircraft, fixed),
            Row("difficulty", "Difficulty", "as the drill has it" if fixed else level, fixed),
            Row("pace", "Pace", _PACES[pace]),
            Row("ears", "Calls", _EARS[chosen.ears]),
            Row("recordings", "Recordings", _RECORDINGS[kept], silent),
        ]

    def step(self, name: str, by: int) -> None:
        """Take the next value of a row, or with -1 the one before; round and round."""
        if next(row for row in self.rows() if row.name == name).fixed:
            return
        if name == "difficulty":
            self.difficulty = _after([None, *LEVELS], self.difficulty, by)
            return
        if name == "recordings":
            self.recordings = _after([*_RECORDINGS], self.recordings, by)
            return
        values: dict[str, list[str | None]] = {
            "drill": [None, *_with_own(drill_names(), self.choice.drill)],
            "field": [*_with_own(field_names(), self.choice.field)],
            "standard": [None, *STANDARDS],
            "aircraft": [*PROFILES],
            "pace": [None, *list(_PACES)[1:]] if self.choice.drill else [*list(_PACES)[1:]],
            "ears": [*_EARS],
        }
        self.take(name, _after(values[name], getattr(self.choice, name), by))

    def goes_on_at(self, level: float) -> None:
        """The free flight before ended at this difficulty, and the next one begins there."""
        self.difficulty, self._level = None, level

    def take(self, name: str, value: str | None) -> None:
        """Choose this value of `Choice`."""
        self.choice = Choice.model_validate({**self.choice.model_dump(), name: value})


def _after(values: list[Value], value: Value, by: int) -> Value:
    here = values.index(value) if value in values else 0
    return values[(here + by) % len(values)]


def _with_own(bundled: tuple[str, ...], chosen: str | None) -> list[str]:
    """The bundled ones, and a file of the user's that is chosen."""
    return [*bundled, *([chosen] if chosen and chosen not in bundled else [])]


def _reading(load: Callable[[str], Content], name: str) -> tuple[Content | None, str | None]:
    try:
        return load(name), None
    except (DrillError, OSError) as error:
        return None, " ".join(str(error).split())


@cache
def _drill(name: str) -> tuple[Drill | None, str | None]:
    return _reading(load_drill, name)


@cache
def _field(name: str) -> tuple[Field | None, str | None]:
    return _reading(load_field, name)
