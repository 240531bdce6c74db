"""The catalogue of pilot calls.

A call is one entry: its slots in the order they are said, and what gives it away. To add one, add
an entry here and its cases in tests/phraseology/cases; the tests walk this table.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from rapidfuzz import process

from phraseology.elements import Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.expected import Context, Expected, Instead, Never, Slot
from phraseology.parse import Parsed
from phraseology.render import say, sentence

CRITICAL, MAJOR, MINOR, NONE = Severity.CRITICAL, Severity.MAJOR, Severity.MINOR, Severity.NONE


@dataclass(frozen=True)
class SlotKind:
    """A slot of the catalogue: `value` picks the model value from the context, or is a fixed value.

    `also` values are as right as the model value, and the only right ones where the context fixes none.
    `missing` holds where the context fixes the value; where it does not, `unfixed` holds.
    """

    kind: Kind
    value: str | Callable[[Context], str | None]
    missing: Severity
    wrong: Severity
    rule: str
    unfixed: Severity | None = None
    also: frozenset[str] | Callable[[Context], frozenset[str]] = frozenset()
    tolerated: frozenset[str] = frozenset()
    instead: tuple[Instead, ...] | Callable[[Context], tuple[Instead, ...]] = ()
    rivals: frozenset[Kind] = frozenset()
    suggest: str | None = None
    """What the model call says where the context fixes nothing and any value will do."""

    def of(self, context: Context) -> Slot:
        fixed = self.value if isinstance(self.value, str) else self.value(context)
        missing = self.missing if fixed is not None or self.unfixed is None else self.unfixed
        also = self.also(context) if callable(self.also) else self.also
        instead = self.instead(context) if callable(self.instead) else self.instead
        accept = (also or None) if fixed is None else frozenset({fixed}) | also
        rule = context.standard.rules[self.rule]
        say = fixed if fixed is not None else self.suggest
        return Slot(self.kind, say, accept, missing, self.wrong, rule, self.tolerated, instead, self.rivals)


@dataclass(frozen=True)
class CallKind:
    """`when` is a sentence for people. `gear_is_up` calls are made where "gear down" would be false."""

    name: str
    title: str
    when: str
    slots: tuple[SlotKind, ...]
    given_away_by: tuple[tuple[Kind, frozenset[str] | None], ...]
    gear_is_up: bool = True
    never: tuple[tuple[Kind, frozenset[str] | None, Severity, str], ...] = field(default=())


def _values(*values: str) -> frozenset[str]:
    return frozenset(values)


def _the_point(*kinds: Kind) -> Callable[[Context], tuple[Instead, ...]]:
    """The point of the context, said as one of these kinds."""
    return lambda c: tuple(Instead(kind, None if c.point is None else _values(c.point)) for kind in kinds)


def _about_there(context: Context) -> frozenset[str]:
    """A position counts as right within two miles: the aircraft moves while it is said (common practice)."""
    if context.where is None:
        return frozenset()
    miles, direction = context.where.split()
    return frozenset(f"{int(miles) + off} {direction}" for off in (-2, -1, 0, 1, 2))


_CALLSIGN = SlotKind(Kind.CALLSIGN, lambda c: c.callsign, CRITICAL, CRITICAL, "callsign")
_STATION = SlotKind(Kind.STATION, lambda c: c.station, NONE, MAJOR, "whom", also=_values("tower"))
_RUNWAY = SlotKind(Kind.RUNWAY, lambda c: c.runway, NONE, CRITICAL, "runway")
_INTENTION = SlotKind(
    Kind.INTENTION,
    lambda c: c.intention,
    MAJOR,
    MAJOR,
    "intention",
    instead=(Instead(Kind.CLEARANCE, full=False),),
    suggest="touch_and_go",
)
_INTENTION_OPTIONAL = SlotKind(Kind.INTENTION, lambda c: c.intention, NONE, MAJOR, "intention")
_POINT_OPTIONAL = SlotKind(Kind.POINT, lambda c: c.point, NONE, MAJOR, "point")
_ALTITUDE_OPTIONAL = SlotKind(
    Kind.ALTITUDE, lambda c: None if c.altitude_ft is None else str(c.altitude_ft), NONE, MAJOR, "altitude"
)
_ANY_POSITION = SlotKind(Kind.POSITION, lambda c: c.position, NONE, MAJOR, "position")
_IN_THE_FINAL_TURN = _values(
    "base", "final_turn", "perch", "inside_downwind", "closed_downwind", "downwind", "final"
)
_LANDING = (Kind.CLEARANCE, None, MAJOR, "not_given")

CALLS: dict[str, CallKind] = {
    call.name: call
    for call in (
        CallKind(
            "check_in",
            "Check-in",
            "Inbound, on first contact with the tower.",
            (
                SlotKind(Kind.STATION, lambda c: c.station, MINOR, MAJOR, "whom", also=_values("tower")),
                _CALLSIGN,
                SlotKind(
                    Kind.WHERE,
                    lambda c: c.where,
                    MAJOR,
                    MAJOR,
                    "where",
                    also=_about_there,
                    instead=_the_point(Kind.POINT, Kind.REPORT),
                    rivals=frozenset({Kind.POINT}),
                ),
                SlotKind(
                    Kind.ALTITUDE,
                    lambda c: None if c.altitude_ft is None else str(c.altitude_ft),
                    MAJOR,
                    MAJOR,
                    "altitude",
                    unfixed=NONE,
                ),
                SlotKind(
                    Kind.ATIS,
                    lambda c: c.atis,
                    MINOR,
                    MAJOR,
                    "atis",
                    unfixed=NONE,
                    also=lambda c: _values("numbers") if c.atis else frozenset(),
                ),
                SlotKind(Kind.REQUEST, "overhead", MAJOR, MAJOR, "request"),
                SlotKind(Kind.INTENTION, lambda c: c.intention, MAJOR, MAJOR, "intention", unfixed=NONE),
                _RUNWAY,
            ),
            ((Kind.REQUEST, None), (Kind.WHERE, None), (Kind.ATIS, None)),
            never=(_LANDING,),
        ),
        CallKind(
            "entry_point",
            "Entry point report",
            "Over the entry point that the tower told you to report.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(
                    Kind.POINT,
                    lambda c: c.point,
                    MAJOR,
                    MAJOR,
                    "point",
                    instead=_the_point(Kind.REPORT),
                    rivals=frozenset({Kind.REPORT}),
                ),
                _ALTITUDE_OPTIONAL,
                SlotKind(Kind.REQUEST, "overhead", NONE, MAJOR, "request"),
                _INTENTION_OPTIONAL,
            ),
            ((Kind.POINT, None),),
            never=(_LANDING,),
        ),
        CallKind(
            "initial",
            "Initial report",
            "On the extended centreline at the distance that was asked, before the break.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(
                    Kind.DISTANCE,
                    lambda c: None if c.distance_nm is None else str(c.distance_nm),
                    MINOR,
                    MAJOR,
                    "initial_distance",
                    unfixed=NONE,
                ),
                SlotKind(Kind.POSITION, "initial", MAJOR, MAJOR, "position"),
                SlotKind(Kind.REQUEST, "overhead", NONE, MAJOR, "request"),
                _RUNWAY,
                _INTENTION_OPTIONAL,
            ),
            ((Kind.POSITION, _values("initial")), (Kind.DISTANCE, None)),
            never=(_LANDING, (Kind.BREAK, _values("approved"), MAJOR, "not_given")),
        ),
        CallKind(
            "break_report",
            "Break report",
            "In the break, when the tower told you to report it.",
            (_STATION, _CALLSIGN, SlotKind(Kind.POSITION, "break", MAJOR, MAJOR, "position"), _RUNWAY),
            ((Kind.POSITION, _values("break")),),
            never=(_LANDING,),
        ),
        CallKind(
            "gear_report",
            "Gear report",
            "At the perch, before or in the first part of the final turn, with the gear down and checked.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(
                    Kind.POSITION, lambda c: c.position, NONE, MAJOR, "position", also=_IN_THE_FINAL_TURN
                ),
                SlotKind(Kind.GEAR, "down", CRITICAL, CRITICAL, "gear", also=_values("in_transit")),
                _RUNWAY,
                _INTENTION,
            ),
            ((Kind.GEAR, None), (Kind.POSITION, _values("base", "perch", "final_turn", "final"))),
            gear_is_up=False,
            never=(_LANDING,),
        ),
        CallKind(
            "request_closed",
            "Request for closed",
            "On the go, from lift-off to the departure end.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(
                    Kind.POSITION,
                    lambda c: c.position,
                    NONE,
                    MAJOR,
                    "position",
                    also=_values("upwind", "departure_end", "midfield"),
                ),
                SlotKind(Kind.ACTION, "on_the_go", NONE, MAJOR, "action"),
                SlotKind(Kind.CLOSED, "requested", MAJOR, MAJOR, "closed", tolerated=_values("bare")),
                _RUNWAY,
                _INTENTION_OPTIONAL,
            ),
            ((Kind.CLOSED, _values("requested", "bare")),),
            never=(_LANDING,),
        ),
        CallKind(
            "outside_downwind",
            "Outside downwind report",
            "Established on outside downwind, when told to report it.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(Kind.POSITION, "outside_downwind", MAJOR, MAJOR, "position"),
                _ALTITUDE_OPTIONAL,
                _RUNWAY,
                _INTENTION_OPTIONAL,
            ),
            ((Kind.POSITION, _values("outside_downwind")),),
            never=(_LANDING,),
        ),
        CallKind(
            "going_around",
            "Going around",
            "At once, whenever you break off the landing.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(Kind.ACTION, "going_around", MAJOR, MAJOR, "action"),
                _RUNWAY,
                _ANY_POSITION,
            ),
            ((Kind.ACTION, _values("going_around")),),
            gear_is_up=False,
            never=(_LANDING,),
        ),
        CallKind(
            "breaking_out",
            "Breaking out",
            "At once, whenever you leave the pattern of your own accord or when told.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(Kind.ACTION, "breaking_out", MAJOR, MAJOR, "action"),
                _ANY_POSITION,
                _POINT_OPTIONAL,
                _ALTITUDE_OPTIONAL,
            ),
            ((Kind.ACTION, _values("breaking_out")),),
            never=(_LANDING,),
        ),
        CallKind(
            "straight_through",
            "Straight through",
            "On initial, when you will not break but fly down the runway line.",
            (
                _STATION,
                _CALLSIGN,
                SlotKind(Kind.ACTION, "straight_through", MAJOR, MAJOR, "action"),
                _ANY_POSITION,
                _RUNWAY,
            ),
            ((Kind.ACTION, _values("straight_through")),),
            never=(_LANDING,),
        ),
        CallKind(
            "say_again",
            "Say again",
            "Whenever you did not get what the tower said to you.",
            (_STATION, _CALLSIGN, SlotKind(Kind.QUERY, "say_again", MAJOR, MAJOR, "words")),
            ((Kind.QUERY, _values("say_again")),),
            gear_is_up=False,
            never=(_LANDING,),
        ),
    )
}


SHORT_NAMES = {
    "break": "break_report",
    "breakout": "breaking_out",
    "closed": "request_closed",
    "gear": "gear_report",
    "go_around": "going_around",
}
"""What people say for short."""


def call_kind(name: str) -> CallKind:
    """The catalogue entry; raises PhraseologyError with the nearest name and the list."""
    wanted = name.strip().lower().replace("-", "_").replace(" ", "_")
    wanted = SHORT_NAMES.get(wanted, wanted)
    if wanted in CALLS:
        return CALLS[wanted]
    near = process.extractOne(wanted, CALLS.keys(), score_cutoff=60)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    raise PhraseologyError(f'no call "{name}"{hint} The calls are: {", ".join(CALLS)}.')


def expect(name: str, context: Context) -> Expected:
    """What the call `name` must carry in this context, with its model words."""
    kind = call_kind(name)
    slots = tuple(slot.of(context) for slot in kind.slots)
    rules = context.standard.rules
    never = tuple(Never(k, values, severity, rules[rule]) for k, values, severity, rule in kind.never)
    if kind.gear_is_up:
        never += (Never(Kind.GEAR, _values("down"), CRITICAL, rules["gear_false"]),)
    return Expected(
        name=kind.name,
        title=kind.title,
        slots=slots,
        model_call=sentence(
            (slot.kind, say(slot.kind, slot.say, context.standard))
            for slot in slots
            if slot.say is not None and slot.missing is not NONE
        ),
        context=context,
        never=never,
        keys=tuple(_key(k, values) for k, values in kind.given_away_by),
    )


def _key(kind: Kind, values: frozenset[str] | None) -> Callable[[Parsed], bool]:
    return lambda parsed: parsed.has(kind, *(values or ()))
