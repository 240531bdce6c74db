"""What a call or an answer must carry: the yardstick that `assess` holds against what was heard."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum

from phraseology.elements import Element, Kind, Severity, runway_name
from phraseology.parse import Parsed, World
from phraseology.standards import Rule, Standard


class Silence(StrEnum):
    """What it means to say nothing at all."""

    WRONG = "wrong"
    ALLOWED = "allowed"
    REQUIRED = "required"


@dataclass(frozen=True)
class Context:
    """Everything that decides what a call must contain here and now. None means: not fixed, any will do.

    `altitude_ft` feet, `distance_nm` nautical miles from the threshold, `where` "10 west",
    `runway` "31", `callsign` "SABLE 21", `intention` a value of `Kind.INTENTION`, `request` one of
    `Kind.REQUEST`, `side` of the pattern "left" or "right", `flight` how many aircraft a formation has,
    `nature` a value of `Kind.NATURE`, `fuel_min` minutes, `souls` persons.
    """

    standard: Standard
    world: World
    callsign: str
    runway: str
    station: str
    intention: str | None = None
    point: str | None = None
    altitude_ft: int | None = None
    distance_nm: int | None = None
    atis: str | None = None
    position: str | None = None
    where: str | None = None
    request: str = "overhead"
    side: str | None = None
    flight: str | None = None
    nature: str | None = None
    fuel_min: int | None = None
    souls: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "runway", runway_name(self.runway))
        object.__setattr__(self, "world", replace(self.world, standard=self.standard, station=self.station))

    def with_(self, **changes: object) -> "Context":
        return replace(self, **changes)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Instead:
    """Another element that does the slot's job: fully, or understood at the price of a minor point."""

    kind: Kind
    values: frozenset[str] | None = None
    full: bool = True

    def fits(self, element: Element) -> bool:
        return element.kind is self.kind and (self.values is None or element.value in self.values)


@dataclass(frozen=True)
class Slot:
    """One element of a call. `say` is the model value; `accept` None takes any value of the kind.

    `missing` NONE makes the slot optional. `tolerated` values are understood, not standard.
    `rivals` are kinds that do the slot's job with another value: one that no `instead` takes is wrong.
    """

    kind: Kind
    say: str | None
    accept: frozenset[str] | None
    missing: Severity
    wrong: Severity
    rule: Rule
    tolerated: frozenset[str] = frozenset()
    instead: tuple[Instead, ...] = ()
    rivals: frozenset[Kind] = frozenset()

    def takes(self, value: str) -> bool:
        return self.accept is None or value in self.accept or value in self.tolerated


@dataclass(frozen=True)
class Never:
    """An element that must not be said here; `values` None means none of its kind, save those in `but`."""

    kind: Kind
    values: frozenset[str] | None
    severity: Severity
    rule: Rule
    but: frozenset[str] = frozenset()

    def forbids(self, element: Element) -> bool:
        if element.kind is not self.kind or element.value in self.but:
            return False
        return self.values is None or element.value in self.values


@dataclass(frozen=True)
class Expected:
    """A call, or the answer to a controller's message, that is right here.

    `keys` are the elements that give it away: one of them heard makes it a candidate.
    """

    name: str
    title: str
    slots: tuple[Slot, ...]
    model_call: str
    context: Context
    never: tuple[Never, ...] = ()
    keys: tuple[Callable[[Parsed], bool], ...] = field(default=(), compare=False, repr=False)
    ordered: bool = True
    silence: Silence = Silence.WRONG
    refusable: bool = False

    def given_away_by(self, parsed: Parsed) -> bool:
        return any(key(parsed) for key in self.keys)
