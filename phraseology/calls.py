"""The catalogue of pilot calls.

A call is one entry: its slots in the order they are said, what gives it away, and what goes wrong with
it. To add one, add an entry here and its cases in tests/phraseology/cases; the tests walk this table.
"""

from phraseology.callkind import (
    CRITICAL,
    MAJOR,
    MINOR,
    NONE,
    CallKind,
    SlotKind,
    about_there,
    fixed_number,
    the_point,
    values,
)
from phraseology.elements import Kind
from phraseology.errors import PhraseologyError
from phraseology.expected import Context, Expected, Instead
from phraseology.suggesting import nearest

_CALLSIGN = SlotKind(Kind.CALLSIGN, lambda c: c.callsign, CRITICAL, CRITICAL, "callsign")
_STATION = SlotKind(Kind.STATION, lambda c: c.station, NONE, MAJOR, "whom", also=values("tower"))
_TRAFFIC = SlotKind(Kind.STATION, lambda c: c.station, MAJOR, MAJOR, "whom_traffic")
_FIELD = SlotKind(Kind.FIELD, lambda c: c.world.field_name, MINOR, MAJOR, "whom_traffic")
_FLIGHT = SlotKind(
    Kind.FLIGHT,
    lambda c: c.flight,
    MINOR,
    MAJOR,
    "flight",
    unfixed=NONE,
    also=lambda c: values("flight") if c.flight else frozenset(),
)
_RUNWAY = SlotKind(Kind.RUNWAY, lambda c: c.runway, NONE, CRITICAL, "runway")
_SIDE = SlotKind(Kind.SIDE, lambda c: c.side, NONE, MAJOR, "side")
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
_POINT_OPTIONAL = SlotKind(
    Kind.POINT,
    lambda c: c.point,
    NONE,
    MAJOR,
    "point",
    instead=the_point(Kind.REPORT),
    rivals=frozenset({Kind.REPORT}),
)
_ALTITUDE_OPTIONAL = SlotKind(Kind.ALTITUDE, fixed_number("altitude_ft"), NONE, MAJOR, "altitude")
_ALTITUDE = SlotKind(Kind.ALTITUDE, fixed_number("altitude_ft"), MAJOR, MAJOR, "altitude", unfixed=NONE)
_DISTANCE = SlotKind(
    Kind.DISTANCE, fixed_number("distance_nm"), MINOR, MAJOR, "initial_distance", unfixed=NONE
)
_ANY_POSITION = SlotKind(Kind.POSITION, lambda c: c.position, NONE, MAJOR, "position")
_WHERE = SlotKind(
    Kind.WHERE,
    lambda c: c.where,
    MAJOR,
    MAJOR,
    "where",
    also=about_there,
    instead=the_point(Kind.POINT, Kind.REPORT),
    rivals=frozenset({Kind.POINT}),
    suggest="10 west",
)
_GEAR_OPTIONAL = SlotKind(Kind.GEAR, "down", NONE, CRITICAL, "gear", also=values("in_transit"))
_BEFORE_LANDING = values(
    "base", "final_turn", "perch", "inside_downwind", "closed_downwind", "downwind", "final"
)
_LANDING = (Kind.CLEARANCE, None, MAJOR, "not_given")


def _at(position: str) -> SlotKind:
    return SlotKind(Kind.POSITION, position, MAJOR, MAJOR, "position")


def _doing(action: str, *also: str) -> SlotKind:
    return SlotKind(Kind.ACTION, action, MAJOR, MAJOR, "action", also=values(*also))


def _place_report(name: str, title: str, when: str, slips: tuple[str, ...]) -> CallKind:
    """A report of a leg, made when the tower asked for it."""
    return CallKind(
        name,
        title,
        when,
        (_STATION, _CALLSIGN, _at(name), _ALTITUDE_OPTIONAL, _RUNWAY, _INTENTION_OPTIONAL),
        ((Kind.POSITION, values(name)),),
        never=(_LANDING,),
        slips=slips,
    )


_ARRIVING = (
    CallKind(
        "check_in",
        "Check-in",
        "Inbound, on first contact with the tower.",
        (
            SlotKind(Kind.STATION, lambda c: c.station, MINOR, MAJOR, "whom", also=values("tower")),
            _CALLSIGN,
            _FLIGHT,
            _WHERE,
            _ALTITUDE,
            SlotKind(
                Kind.ATIS,
                lambda c: c.atis,
                MINOR,
                MAJOR,
                "atis",
                unfixed=NONE,
                also=lambda c: values("numbers") if c.atis else frozenset(),
            ),
            SlotKind(Kind.REQUEST, lambda c: c.request, MAJOR, MAJOR, "request"),
            SlotKind(Kind.INTENTION, lambda c: c.intention, MAJOR, MAJOR, "intention", unfixed=NONE),
            _RUNWAY,
        ),
        ((Kind.REQUEST, None), (Kind.WHERE, None), (Kind.ATIS, None)),
        never=(_LANDING,),
        slips=("the altitude or the letter left out", "no request: the tower has to ask what you want"),
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
                instead=the_point(Kind.REPORT),
                rivals=frozenset({Kind.REPORT}),
            ),
            _ALTITUDE_OPTIONAL,
            SlotKind(Kind.REQUEST, lambda c: c.request, NONE, MAJOR, "request"),
            _INTENTION_OPTIONAL,
        ),
        ((Kind.POINT, None),),
        never=(_LANDING,),
        slips=("another point than the one that was asked for",),
    ),
    _place_report(
        "ninety_to_initial",
        "Ninety to initial",
        "On the leg across the runway line, when told to report it.",
        ("said on the forty-five",),
    ),
    _place_report(
        "forty_five_to_initial",
        "Forty-five to initial",
        "On the leg that meets initial at 45 degrees, when told to report it.",
        ("said on initial",),
    ),
    CallKind(
        "initial",
        "Initial report",
        "On the extended centreline at the distance that was asked, before the break.",
        (
            _STATION,
            _CALLSIGN,
            _FLIGHT,
            _DISTANCE,
            _at("initial"),
            SlotKind(Kind.REQUEST, lambda c: c.request, NONE, MAJOR, "request"),
            _SIDE,
            _RUNWAY,
            _INTENTION_OPTIONAL,
        ),
        ((Kind.POSITION, values("initial")), (Kind.DISTANCE, None)),
        never=(_LANDING, (Kind.BREAK, values("approved"), MAJOR, "not_given")),
        slips=("the distance left out", "another distance than was asked"),
    ),
    CallKind(
        "straight_through",
        "Straight through",
        "On initial, when you will not break but fly down the runway line.",
        (_STATION, _CALLSIGN, _doing("straight_through"), _ANY_POSITION, _RUNWAY),
        ((Kind.ACTION, values("straight_through")),),
        never=(_LANDING,),
        slips=("said when the tower already expects the break",),
    ),
)

_LANDING_CALLS = (
    CallKind(
        "break_report",
        "Break report",
        "In the break, when the tower told you to report it; each of a formation for himself.",
        (_STATION, _CALLSIGN, _at("break"), _SIDE, _RUNWAY),
        ((Kind.POSITION, values("break")),),
        never=(_LANDING,),
        slips=("a wingman with the leader's callsign",),
    ),
    CallKind(
        "gear_report",
        "Gear report",
        "At the perch, before or in the first part of the final turn, with the gear down and checked.",
        (
            _STATION,
            _CALLSIGN,
            SlotKind(Kind.POSITION, lambda c: c.position, NONE, MAJOR, "position", also=_BEFORE_LANDING),
            SlotKind(Kind.GEAR, "down", CRITICAL, CRITICAL, "gear", also=values("in_transit")),
            _SIDE,
            _RUNWAY,
            _INTENTION,
        ),
        (
            (Kind.GEAR, None),
            (Kind.POSITION, values("base", "perch", "final_turn", "final")),
            (Kind.INTENTION, None),
        ),
        gear_is_up=False,
        never=(_LANDING,),
        slips=(
            "the gear left out",
            "the intention left out: the tower can not clear you",
            "said before it is down",
        ),
    ),
    CallKind(
        "final",
        "Final report",
        "On final, when told to report it: from a straight-in at the distance that was asked.",
        (_STATION, _CALLSIGN, _DISTANCE, _at("final"), _GEAR_OPTIONAL, _RUNWAY, _INTENTION_OPTIONAL),
        ((Kind.POSITION, values("final")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("the distance left out of a straight-in",),
    ),
    CallKind(
        "intention",
        "Landing intention",
        "When the tower asks how you will use the runway, or when you change your mind.",
        (_STATION, _CALLSIGN, _INTENTION, _RUNWAY),
        ((Kind.INTENTION, None),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("the option said for a touch-and-go: they are not the same",),
    ),
    CallKind(
        "going_around",
        "Going around",
        "At once, whenever you break off the landing.",
        (_STATION, _CALLSIGN, _doing("going_around"), _RUNWAY, _ANY_POSITION),
        ((Kind.ACTION, values("going_around")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("flown first and said much later",),
    ),
    CallKind(
        "clear_of_runway",
        "Clear of the runway",
        "After a full stop, when all of the aircraft has left the runway.",
        (_STATION, _CALLSIGN, _doing("clear_of_runway"), _RUNWAY),
        ((Kind.ACTION, values("clear_of_runway")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("said with the tail still over the line",),
    ),
)

_AFTER_THE_GO = (
    CallKind(
        "on_the_go",
        "On the go",
        "After a touch-and-go or low approach, when the tower wants to hear it.",
        (_STATION, _CALLSIGN, _doing("on_the_go"), _RUNWAY, _INTENTION_OPTIONAL),
        ((Kind.ACTION, values("on_the_go")),),
        never=(_LANDING,),
        slips=("said without what you want next",),
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
                also=values("upwind", "departure_end", "midfield"),
            ),
            SlotKind(Kind.ACTION, "on_the_go", NONE, MAJOR, "action"),
            SlotKind(Kind.CLOSED, "requested", MAJOR, MAJOR, "closed", tolerated=values("bare")),
            _SIDE,
            _RUNWAY,
            _INTENTION_OPTIONAL,
        ),
        ((Kind.CLOSED, values("requested", "bare")),),
        never=(_LANDING,),
        slips=("asked for past the departure end", "pulled before it is approved"),
    ),
    _place_report(
        "closed_downwind",
        "Closed downwind report",
        "On the downwind after a closed pull-up, when told to report it.",
        ("called inside downwind: that one comes only from initial",),
    ),
    _place_report(
        "crosswind", "Crosswind report", "On crosswind, when told to report it.", ("said still upwind",)
    ),
    _place_report(
        "outside_downwind",
        "Outside downwind report",
        "Established on outside downwind, when told to report it.",
        ("called inside downwind",),
    ),
    CallKind(
        "climbing_out",
        "Climbing out",
        "When you climb out along the runway heading, told to or of your own accord.",
        (_STATION, _CALLSIGN, _doing("climbing_out"), _ALTITUDE_OPTIONAL, _POINT_OPTIONAL),
        ((Kind.ACTION, values("climbing_out")),),
        never=(_LANDING,),
        slips=("without the altitude that was given",),
    ),
    CallKind(
        "breaking_out",
        "Breaking out",
        "At once, whenever you leave the pattern of your own accord or when told.",
        (
            _STATION,
            _CALLSIGN,
            _doing("breaking_out"),
            _ANY_POSITION,
            _POINT_OPTIONAL,
            _ALTITUDE_OPTIONAL,
        ),
        ((Kind.ACTION, values("breaking_out")),),
        never=(_LANDING,),
        slips=("flown in silence",),
    ),
)

_AT_ANY_TIME = (
    CallKind(
        "say_again",
        "Say again",
        "Whenever you did not get what the tower said to you, or a part of it.",
        (
            _STATION,
            _CALLSIGN,
            SlotKind(Kind.QUERY, "say_again", MAJOR, MAJOR, "words"),
            SlotKind(Kind.PART, lambda c: None, NONE, MINOR, "words"),
        ),
        ((Kind.QUERY, values("say_again")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("roger, said in the hope that it was nothing",),
    ),
    CallKind(
        "unable",
        "Unable",
        "Whenever you can not do what you were told or cleared to do.",
        (
            _STATION,
            _CALLSIGN,
            SlotKind(
                Kind.ACK,
                "unable",
                MAJOR,
                MAJOR,
                "words",
                instead=(Instead(Kind.CLOSED, values("denied")), Instead(Kind.OVERHEAD, values("denied"))),
            ),
            SlotKind(Kind.ACTION, lambda c: None, NONE, MAJOR, "action"),
            SlotKind(Kind.FUEL, lambda c: None, NONE, MAJOR, "fuel"),
        ),
        ((Kind.ACK, values("unable")), (Kind.CLOSED, values("denied"))),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("accepted out of politeness",),
    ),
    CallKind(
        "stand_by",
        "Stand by",
        "When you need time before you can answer: it is neither yes nor no.",
        (_STATION, _CALLSIGN, SlotKind(Kind.ACK, "stand_by", MAJOR, MAJOR, "words")),
        ((Kind.ACK, values("stand_by")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("a guess instead",),
    ),
    CallKind(
        "traffic_in_sight",
        "Traffic in sight",
        "When you see the traffic that was called, and not before.",
        (_STATION, _CALLSIGN, SlotKind(Kind.TRAFFIC, "in_sight", MAJOR, CRITICAL, "traffic")),
        ((Kind.TRAFFIC, values("in_sight")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("said of the wrong aircraft",),
    ),
    CallKind(
        "negative_contact",
        "Negative contact",
        "When you look for the traffic that was called and do not see it.",
        (_STATION, _CALLSIGN, SlotKind(Kind.TRAFFIC, "not_in_sight", MAJOR, CRITICAL, "traffic")),
        ((Kind.TRAFFIC, values("not_in_sight")),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("roger: it does not tell whether you see it",),
    ),
    CallKind(
        "radio_check",
        "Radio check",
        "When you doubt your radio.",
        (
            _STATION,
            _CALLSIGN,
            SlotKind(
                Kind.RADIO,
                "check",
                MAJOR,
                MAJOR,
                "words",
                instead=(Instead(Kind.QUERY, values("how_do_you_hear")),),
            ),
        ),
        ((Kind.RADIO, None), (Kind.QUERY, values("how_do_you_hear"))),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("asked in the middle of somebody's approach",),
    ),
    CallKind(
        "minimum_fuel",
        "Minimum fuel",
        "When any undue delay would be one too many; it gives no priority.",
        (_STATION, _CALLSIGN, SlotKind(Kind.FUEL, "minimum", MAJOR, MAJOR, "fuel")),
        ((Kind.FUEL, None),),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("taken for an emergency, which has to be declared",),
    ),
    CallKind(
        "emergency",
        "Emergency",
        "As soon as the aircraft flies where it should: aviate, navigate, communicate.",
        (
            SlotKind(
                Kind.EMERGENCY,
                "mayday",
                MAJOR,
                MAJOR,
                "emergency",
                also=values("pan_pan", "declared"),
            ),
            _STATION,
            _CALLSIGN,
            SlotKind(
                Kind.NATURE,
                lambda c: c.nature,
                MAJOR,
                MAJOR,
                "nature",
                instead=(Instead(Kind.GEAR, values("unsafe")), Instead(Kind.FUEL, values("minimum"))),
                suggest="engine_failure",
            ),
            _ANY_POSITION,
            SlotKind(Kind.WHERE, lambda c: c.where, NONE, MAJOR, "where", also=about_there),
            _POINT_OPTIONAL,
            _ALTITUDE_OPTIONAL,
            SlotKind(Kind.REQUEST, lambda c: None, NONE, MAJOR, "request"),
            SlotKind(Kind.INTENTION, lambda c: None, NONE, MAJOR, "intention"),
            SlotKind(Kind.ACTION, lambda c: None, NONE, MAJOR, "action"),
            SlotKind(Kind.FUEL, lambda c: None, NONE, MAJOR, "fuel"),
            SlotKind(Kind.SOULS, lambda c: None, NONE, MAJOR, "souls"),
            _RUNWAY,
        ),
        ((Kind.EMERGENCY, None), (Kind.NATURE, None)),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("not declared: the tower does not know how bad it is", "no intention"),
    ),
    CallKind(
        "emergency_details",
        "Fuel and souls",
        "When the tower asks for it, once you have the time.",
        (
            _STATION,
            _CALLSIGN,
            SlotKind(Kind.FUEL, fixed_number("fuel_min"), MAJOR, MAJOR, "fuel", suggest="20"),
            SlotKind(Kind.SOULS, fixed_number("souls"), MAJOR, MAJOR, "souls", suggest="2"),
        ),
        ((Kind.SOULS, None), (Kind.FUEL, None)),
        gear_is_up=False,
        never=(_LANDING,),
        slips=("fuel said in pounds: the tower asked for time",),
    ),
)


def _announce(
    name: str,
    title: str,
    when: str,
    slots: tuple[SlotKind, ...],
    given_away_by: tuple[tuple[Kind, frozenset[str] | None], ...],
    slips: tuple[str, ...],
    *,
    gear_is_up: bool = False,
) -> CallKind:
    """A self-announced call at a field without a tower (AIM 4-1-9)."""
    return CallKind(
        name,
        title,
        when,
        (_TRAFFIC, _CALLSIGN, *slots, _FIELD),
        given_away_by,
        gear_is_up=gear_is_up,
        never=(_LANDING,),
        slips=slips,
        without_tower=True,
    )


_WITHOUT_TOWER = (
    _announce(
        "announce_inbound",
        "Inbound, announced",
        "Ten miles out of a field without a tower.",
        (
            _WHERE,
            _ALTITUDE_OPTIONAL,
            SlotKind(Kind.REQUEST, lambda c: c.request, MAJOR, MAJOR, "request"),
            _RUNWAY,
        ),
        ((Kind.WHERE, None), (Kind.REQUEST, None), (Kind.POINT, None)),
        ("no distance",),
        gear_is_up=True,
    ),
    _announce(
        "announce_initial",
        "Initial, announced",
        "On initial at a field without a tower.",
        (_DISTANCE, _at("initial"), _SIDE, _RUNWAY),
        ((Kind.POSITION, values("initial")),),
        ("the runway left out where both ends are in use",),
        gear_is_up=True,
    ),
    _announce(
        "announce_break",
        "Break, announced",
        "In the break at a field without a tower.",
        (_at("break"), _SIDE, _RUNWAY),
        ((Kind.POSITION, values("break")),),
        ("the side left out",),
        gear_is_up=True,
    ),
    _announce(
        "announce_final",
        "Final turn, announced",
        "At the perch or on final at a field without a tower.",
        (
            SlotKind(Kind.POSITION, "final_turn", MAJOR, MAJOR, "position", also=_BEFORE_LANDING),
            _GEAR_OPTIONAL,
            SlotKind(Kind.RUNWAY, lambda c: c.runway, MAJOR, CRITICAL, "runway"),
            _INTENTION,
        ),
        ((Kind.POSITION, _BEFORE_LANDING),),
        ("the intention left out: the next one does not know how long you will be there",),
    ),
    _announce(
        "announce_departure",
        "On the go, announced",
        "On the go at a field without a tower.",
        (
            _doing("on_the_go", "going_around"),
            SlotKind(Kind.CLOSED, "bare", NONE, MAJOR, "closed", also=values("requested")),
            _RUNWAY,
        ),
        ((Kind.ACTION, values("on_the_go", "going_around")),),
        ("closed pulled without a word",),
    ),
    _announce(
        "announce_clear",
        "Clear of the runway, announced",
        "When all of the aircraft has left the runway of a field without a tower.",
        (_doing("clear_of_runway"), _RUNWAY),
        ((Kind.ACTION, values("clear_of_runway")),),
        ("forgotten, so that the next one goes around",),
    ),
)

CALLS: dict[str, CallKind] = {
    call.name: call for call in (*_ARRIVING, *_LANDING_CALLS, *_AFTER_THE_GO, *_AT_ANY_TIME, *_WITHOUT_TOWER)
}

TOWER_CALLS = tuple(name for name, call in CALLS.items() if not call.without_tower)
"""Calls to a tower; the others are announced where there is none."""

SHORT_NAMES = {
    "break": "break_report",
    "breakout": "breaking_out",
    "closed": "request_closed",
    "gear": "gear_report",
    "go_around": "going_around",
    "mayday": "emergency",
    "ninety": "ninety_to_initial",
    "forty_five": "forty_five_to_initial",
}
"""What people say for short."""


def call_kind(name: str) -> CallKind:
    """The catalogue entry; raises PhraseologyError with the nearest name and the list."""
    wanted = name.strip().lower().replace("-", "_").replace(" ", "_")
    wanted = SHORT_NAMES.get(wanted, wanted)
    if wanted in CALLS:
        return CALLS[wanted]
    likely = nearest(wanted, [*CALLS, *SHORT_NAMES])
    hint = f'; did you mean "{likely}"?' if likely else "."
    raise PhraseologyError(f'no call "{name}"{hint} The calls are: {", ".join(CALLS)}.')


def expect(name: str, context: Context) -> Expected:
    """What the call `name` must carry in this context, with its model words."""
    return call_kind(name).expect(context)
