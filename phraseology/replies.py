"""The catalogue of what the controller says, as values that render to words and are read from words.

A reply is one entry: its parts in the order they are said. What the pilot must answer follows from
the parts by the read-back table (`readback.py`), so a new reply needs no rule of its own.
"""

import re
from dataclasses import dataclass

from phraseology.elements import Kind, runway_name
from phraseology.errors import PhraseologyError
from phraseology.parse import World, parse
from phraseology.render import say, sentence
from phraseology.standards import Standard
from phraseology.suggesting import nearest


@dataclass(frozen=True)
class Part:
    """One element of a reply. `value` is fixed, or None: then it is the message's field of the same kind.

    `lead` and `tail` are words around it. `optional` parts are left out where the field is not given.
    `like` is a pattern that a free value must match in full.
    """

    kind: Kind
    value: str | None = None
    optional: bool = False
    lead: str = ""
    tail: str = ""
    like: str = ""

    def takes(self, kind: Kind, value: str) -> bool:
        return (
            kind is self.kind
            and self.value in (None, value)
            and (not self.like or re.fullmatch(self.like, value) is not None)
        )


@dataclass(frozen=True)
class ReplyKind:
    """`do` is what the pilot must do. `answers` are the calls that it can follow; none: at any time."""

    name: str
    title: str
    do: str
    answers: tuple[str, ...]
    parts: tuple[Part, ...]
    slips: tuple[str, ...] = ()


_LANDINGS = ("gear_report", "final")
_ANY_CALL = (
    "check_in",
    "entry_point",
    "initial",
    "break_report",
    "gear_report",
    "request_closed",
    "outside_downwind",
)
_EMERGENCY = ("emergency",)
_WIND = Part(Kind.WIND, optional=True)
_ALTIMETER = (Part(Kind.ALTIMETER, optional=True), Part(Kind.QNH, optional=True))
_SIDE = Part(Kind.SIDE, optional=True)
_REPORT = Part(Kind.REPORT, optional=True)

_TO_CHECK_IN = (
    ReplyKind(
        "overhead_approved",
        "Overhead approved",
        "Set the altimeter, come to initial at the pattern altitude, report where told.",
        ("check_in",),
        (
            Part(Kind.RUNWAY),
            Part(Kind.OVERHEAD, "approved"),
            Part(Kind.ALTITUDE, optional=True, lead="pattern altitude"),
            _WIND,
            *_ALTIMETER,
            Part(Kind.REPORT),
        ),
        ("the altimeter not read back", "roger alone"),
    ),
    ReplyKind(
        "overhead_denied",
        "Overhead denied, straight-in",
        "Fly the straight-in to the runway named, report final at the distance told.",
        ("check_in", "entry_point"),
        (
            Part(Kind.OVERHEAD, "denied"),
            Part(Kind.ACTION, "make_straight_in"),
            Part(Kind.RUNWAY),
            Part(Kind.REPORT),
        ),
        ("flown to initial all the same",),
    ),
    ReplyKind(
        "remain_outside",
        "Remain outside",
        "Stay clear of the pattern until the tower calls.",
        ("check_in", "entry_point"),
        (Part(Kind.ACTION, "remain_outside", tail="stand by"),),
    ),
    ReplyKind(
        "hold_at",
        "Hold at a point",
        "Circle at the point named until the tower calls.",
        ("check_in", "entry_point"),
        (Part(Kind.HOLD),),
        ("wilco without the point",),
    ),
    ReplyKind(
        "entry_not_available",
        "Entry point not available",
        "Go to the other point and report it.",
        ("check_in", "entry_point"),
        (Part(Kind.UNAVAILABLE), Part(Kind.REPORT)),
        ("the closed point read back as the one to report",),
    ),
    ReplyKind(
        "verify_information",
        "Verify information",
        "Say whether you have that letter.",
        ("check_in",),
        (Part(Kind.QUERY, "verify"), Part(Kind.ATIS)),
        ("affirmed without having it",),
    ),
    ReplyKind(
        "report",
        "Report a place",
        "Report there.",
        ("entry_point", "outside_downwind", "going_around", "straight_through", "breaking_out"),
        (Part(Kind.REPORT),),
    ),
)

_TO_INITIAL = (
    ReplyKind(
        "break_approved",
        "Break approved",
        "Break in the break zone, to the side of the runway in use.",
        ("initial",),
        (_SIDE, Part(Kind.BREAK, "approved")),
    ),
    ReplyKind(
        "break_at",
        "Break at a place",
        "Hold the runway line to that place, then break.",
        ("initial",),
        (Part(Kind.BREAK, like="midfield|departure_end"),),
        ("broken at the usual place",),
    ),
    ReplyKind(
        "break_in",
        "Break after some seconds",
        "Count them, then break.",
        ("initial",),
        (Part(Kind.BREAK, like="in [0-9]+"),),
    ),
    ReplyKind(
        "break_at_my_call",
        "Break at the tower's call",
        "Hold the runway line until the tower says now.",
        ("initial",),
        (Part(Kind.BREAK, "my_call"),),
        ("broken before the call",),
    ),
    ReplyKind("break_now", "Break now", "Break at once.", ("initial",), (Part(Kind.BREAK, "now"),)),
    ReplyKind(
        "break_in_sequence",
        "Break approved behind traffic",
        "Find the one you follow, then break behind him.",
        ("initial",),
        (Part(Kind.SEQUENCE), Part(Kind.FOLLOW), Part(Kind.BREAK, "approved")),
        ("traffic called in sight that is another",),
    ),
    ReplyKind(
        "report_break",
        "Report the break",
        "Say it when you break.",
        ("initial",),
        (Part(Kind.REPORT, "break"),),
    ),
    ReplyKind(
        "straight_through",
        "Straight through",
        "Do not break: fly down the runway line, then crosswind to outside downwind.",
        ("initial",),
        (Part(Kind.ACTION, "straight_through"), _REPORT),
        ("broken out of habit",),
    ),
    ReplyKind(
        "breakout",
        "Breakout",
        "Turn away, climb to the breakout altitude, go to the point named and report it.",
        ("initial",),
        (Part(Kind.ACTION, "breaking_out"), Part(Kind.REPORT)),
        ("the point not read back",),
    ),
)

_TO_A_LANDING = (
    ReplyKind(
        "cleared",
        "Landing clearance",
        "Do what is cleared, and nothing else, on that runway.",
        _LANDINGS,
        (Part(Kind.RUNWAY), _WIND, Part(Kind.CLEARANCE)),
        ("the runway not read back", "what was asked read back where something else was cleared"),
    ),
    ReplyKind(
        "cleared_in_sequence",
        "Landing clearance behind traffic",
        "Follow, and do what is cleared.",
        _LANDINGS,
        (Part(Kind.SEQUENCE), Part(Kind.FOLLOW), Part(Kind.RUNWAY), _WIND, Part(Kind.CLEARANCE)),
    ),
    ReplyKind(
        "sequence",
        "Sequence behind traffic",
        "Find the one you follow and stay behind him.",
        ("initial", *_LANDINGS),
        (Part(Kind.SEQUENCE), Part(Kind.FOLLOW)),
    ),
    ReplyKind(
        "continue_approach",
        "Continue",
        "Go on with the approach: you are not cleared to land.",
        _LANDINGS,
        (Part(Kind.ACTION, "continue"),),
        ("taken for a clearance",),
    ),
    ReplyKind(
        "extend_downwind",
        "Extend downwind",
        "Stay on downwind until the tower calls your turn.",
        _LANDINGS,
        (Part(Kind.ACTION, "extend_downwind", tail="i will call your turn"),),
        ("turned at the usual place",),
    ),
    ReplyKind(
        "turn_base",
        "Turn base, with the landing clearance",
        "Turn now, and do what is cleared.",
        _LANDINGS,
        (Part(Kind.ACTION, "turn_base"), Part(Kind.RUNWAY), _WIND, Part(Kind.CLEARANCE)),
    ),
    ReplyKind(
        "short_approach",
        "Short approach",
        "Turn in early and land short of nobody: close in, at once.",
        _LANDINGS,
        (Part(Kind.ACTION, "short_approach"),),
    ),
    ReplyKind(
        "three_sixty",
        "Three-sixty",
        "One full turn to that side for spacing, then go on.",
        _LANDINGS,
        (Part(Kind.SIDE, lead="make"), Part(Kind.ACTION, "three_sixty")),
        ("turned to the other side",),
    ),
    ReplyKind(
        "go_around",
        "Go around",
        "Power, climb, clean up along the runway line; then say it.",
        _LANDINGS,
        (Part(Kind.ACTION, "going_around"), Part(Kind.ALTITUDE, optional=True, lead="maintain"), _REPORT),
    ),
    ReplyKind(
        "check_wheels_down",
        "Check wheels down",
        "Look at the gear, then say what you see.",
        _LANDINGS,
        (Part(Kind.QUERY, "check_wheels_down"),),
        ("answered without looking",),
    ),
    ReplyKind(
        "confirm_gear",
        "Confirm gear",
        "Look at the gear, then say what you see.",
        _LANDINGS,
        (Part(Kind.QUERY, "confirm_gear"),),
    ),
)

_TO_CLOSED = (
    ReplyKind(
        "closed_approved",
        "Closed approved",
        "Pull up to closed downwind, to the side of the pattern.",
        ("request_closed",),
        (_SIDE, Part(Kind.CLOSED, "approved")),
    ),
    ReplyKind(
        "closed_approved_when",
        "Closed approved at a place or behind traffic",
        "Do not pull before the condition holds.",
        ("request_closed",),
        (_SIDE, Part(Kind.CLOSED, "approved"), Part(Kind.CONDITION)),
        ("the condition not read back", "pulled at once"),
    ),
    ReplyKind(
        "closed_denied_breakout",
        "Closed denied, breakout",
        "Turn away, climb to the breakout altitude, go to the point named and report it.",
        ("request_closed",),
        (Part(Kind.CLOSED, "denied"), Part(Kind.ACTION, "breaking_out"), Part(Kind.REPORT)),
        ("silence", "the point forgotten"),
    ),
    ReplyKind(
        "closed_denied_climb_out",
        "Closed denied, climb out",
        "Climb on the runway heading to that altitude, go to the point named and report it.",
        ("request_closed",),
        (
            Part(Kind.CLOSED, "denied"),
            Part(Kind.ACTION, "climbing_out"),
            Part(Kind.ALTITUDE, lead="at or above"),
            Part(Kind.REPORT),
        ),
        ("the altitude not read back",),
    ),
    ReplyKind(
        "closed_denied_outside",
        "Closed denied, round the outside",
        "Crosswind, outside downwind, back to initial; report there.",
        ("request_closed",),
        (Part(Kind.CLOSED, "denied"), Part(Kind.REPORT)),
    ),
    ReplyKind(
        "extend_upwind",
        "Extend upwind",
        "Stay on the runway line until the tower calls.",
        ("request_closed",),
        (Part(Kind.ACTION, "extend_upwind"),),
    ),
)

_AT_ANY_TIME = (
    ReplyKind("roger", "Roger", "Nothing: your call was received.", _ANY_CALL, (Part(Kind.ACK, "roger"),)),
    ReplyKind(
        "stand_by",
        "Stand by",
        "Wait: it is neither yes nor no.",
        ("check_in", "entry_point", "request_closed"),
        (Part(Kind.ACK, "stand_by"),),
        ("taken for an approval",),
    ),
    ReplyKind("go_ahead", "Go ahead", "Say what you want.", (), (Part(Kind.ACK, "go_ahead"),)),
    ReplyKind("readback_correct", "Read back correct", "Nothing.", (), (Part(Kind.ACK, "readback_correct"),)),
    ReplyKind(
        "say_again", "Say again", "Say the whole call again.", _ANY_CALL, (Part(Kind.QUERY, "say_again"),)
    ),
    ReplyKind(
        "say_callsign",
        "Say callsign",
        "Say your callsign in full.",
        _ANY_CALL,
        (Part(Kind.QUERY, "say_callsign"),),
    ),
    ReplyKind(
        "say_position",
        "Say position",
        "Say where you are.",
        _ANY_CALL,
        (Part(Kind.QUERY, "say_position"),),
        ("where you should be, said instead of where you are",),
    ),
    ReplyKind("say_altitude", "Say altitude", "Say your altitude.", (), (Part(Kind.QUERY, "say_altitude"),)),
    ReplyKind(
        "say_intentions",
        "Say intentions",
        "Say what you want to do.",
        _ANY_CALL,
        (Part(Kind.QUERY, "say_intentions"),),
    ),
    ReplyKind(
        "say_nature",
        "Say nature of emergency",
        "Say what is wrong.",
        _EMERGENCY,
        (Part(Kind.QUERY, "say_nature"),),
    ),
    ReplyKind(
        "say_fuel_and_souls",
        "Say fuel and souls",
        "Say fuel in minutes and how many are on board, when you have the time.",
        _EMERGENCY,
        (Part(Kind.ACK, "roger", optional=True), Part(Kind.QUERY, "say_fuel_and_souls")),
    ),
    ReplyKind(
        "how_do_you_hear",
        "Radio check from the tower",
        "Say how you hear the tower.",
        (),
        (Part(Kind.QUERY, "how_do_you_hear"),),
    ),
    ReplyKind(
        "readability",
        "Answer to a radio check",
        "Nothing.",
        ("radio_check",),
        (Part(Kind.READABILITY),),
    ),
    ReplyKind(
        "traffic",
        "Traffic information",
        "Look, and say whether you see it.",
        (),
        (Part(Kind.TRAFFIC_INFORMATION),),
        ("roger: the tower still does not know whether you see it",),
    ),
    ReplyKind(
        "runway_change",
        "Runway change",
        "Plan for the other runway; set the altimeter.",
        (),
        (Part(Kind.NOTICE, "runway_change"), Part(Kind.RUNWAY), _WIND, *_ALTIMETER),
        ("the old runway read back out of habit",),
    ),
    ReplyKind("wind_check", "Wind check", "Nothing.", (), (Part(Kind.WIND),)),
    ReplyKind("altimeter", "Altimeter setting", "Set it.", (), (Part(Kind.ALTIMETER),)),
    ReplyKind("qnh", "QNH", "Set it.", (), (Part(Kind.QNH),)),
    ReplyKind("time", "Time check", "Set your clock.", (), (Part(Kind.TIME),)),
    ReplyKind("birds", "Bird warning", "Look out.", (), (Part(Kind.NOTICE, "birds"),)),
    ReplyKind(
        "wind_shear", "Wind shear warning", "Be ready to go around.", (), (Part(Kind.NOTICE, "wind_shear"),)
    ),
    ReplyKind(
        "wake_turbulence",
        "Wake turbulence warning",
        "Keep your distance, stay above the path of the one ahead.",
        (),
        (Part(Kind.NOTICE, "wake_turbulence"),),
    ),
    ReplyKind(
        "emergency_in_pattern",
        "Emergency in the pattern",
        "Leave the pattern as told and keep off the frequency.",
        (),
        (Part(Kind.NOTICE, "emergency"), Part(Kind.ACTION, like="breaking_out|remain_clear"), _REPORT),
        ("a request made in the middle of it",),
    ),
    ReplyKind(
        "straight_ins_closed",
        "Pattern closed to straight-ins",
        "Come by initial, or not at all.",
        (),
        (Part(Kind.NOTICE, "straight_ins_closed"),),
    ),
    ReplyKind(
        "full_stops_only",
        "Full stops only",
        "Plan for a full stop.",
        (),
        (Part(Kind.NOTICE, "full_stops_only"),),
    ),
    ReplyKind(
        "pattern_closed",
        "Pattern closed",
        "Stay out of the pattern.",
        (),
        (Part(Kind.NOTICE, "pattern_closed"),),
    ),
    ReplyKind(
        "heading",
        "Heading to fly",
        "Turn to that heading.",
        (),
        (
            Part(Kind.SIDE, optional=True, lead="turn"),
            Part(Kind.HEADING),
            Part(Kind.ALTITUDE, optional=True, lead="maintain"),
        ),
    ),
    ReplyKind(
        "maintain",
        "Altitude to hold",
        "Go to that altitude and hold it.",
        (),
        (Part(Kind.ALTITUDE, lead="maintain"),),
    ),
    ReplyKind("speed", "Speed to fly", "Fly that speed.", (), (Part(Kind.SPEED),)),
    ReplyKind(
        "contact",
        "Frequency change",
        "Read it back, change, check in there.",
        (),
        (Part(Kind.FREQUENCY, lead="contact tower"),),
        ("changed without a word",),
    ),
)

REPLIES: dict[str, ReplyKind] = {
    reply.name: reply for reply in (*_TO_CHECK_IN, *_TO_INITIAL, *_TO_A_LANDING, *_TO_CLOSED, *_AT_ANY_TIME)
}

ALL = "ALL"
"""Whom a message is for that begins with "all aircraft"."""


@dataclass(frozen=True)
class Message:
    """What the controller says to one station. `kind` names a reply, or is "message" for any other mix.

    `to` is a callsign, `ALL`, or "" for a station whose name was not heard. `elements` are in the order said.
    `corrects` is set where the message is said again because the read-back of it was wrong.
    """

    kind: str
    to: str
    elements: tuple[tuple[Kind, str], ...]
    corrects: bool = False

    def value(self, kind: Kind) -> str | None:
        return next((value for k, value in self.elements if k is kind), None)

    def has(self, kind: Kind, value: str | None = None) -> bool:
        return any(k is kind and value in (None, v) for k, v in self.elements)


def reply_kind(name: str) -> ReplyKind:
    """The catalogue entry; raises PhraseologyError with the nearest name and the list."""
    if name in REPLIES:
        return REPLIES[name]
    likely = nearest(name, REPLIES)
    hint = f'; did you mean "{likely}"?' if likely else "."
    raise PhraseologyError(f'no reply "{name}"{hint} The replies are: {", ".join(REPLIES)}.')


def message(name: str, to: str, fields: dict[Kind, str]) -> Message:
    """A reply of the catalogue with its fields; raises PhraseologyError if one is lacking."""
    elements = []
    for part in reply_kind(name).parts:
        value = part.value if part.value is not None else fields.get(part.kind)
        if value is not None:
            value = runway_name(value) if part.kind is Kind.RUNWAY else value
            if not part.takes(part.kind, value):
                raise PhraseologyError(f'the reply "{name}" takes no {part.kind.value} "{value}"')
            elements.append((part.kind, value))
        elif not part.optional:
            raise PhraseologyError(f'the reply "{name}" needs a {part.kind.value}')
    return Message(name, to, tuple(elements))


def say_message(msg: Message, standard: Standard) -> str:
    """The controller's words: "sable two one, unable closed, breakout, report quarry"."""
    parts = {part.kind: part for part in reply_kind(msg.kind).parts} if msg.kind in REPLIES else {}
    spoken: list[tuple[Kind | None, str]] = []
    if msg.to:
        spoken.append((Kind.CALLSIGN, say(Kind.CALLSIGN, msg.to, standard)))
    elif msg.has(Kind.QUERY):
        spoken.append((None, "station calling"))
    if msg.corrects:
        spoken.append((Kind.ACK, standard.says_again))
    for kind, value in msg.elements:
        words = say(kind, value, standard, controller=True)
        part = parts.get(kind)
        if part:
            words = f"{part.lead} {words}".strip()
        spoken.append((kind, words))
        if part and part.tail:
            spoken.append((None, part.tail))
    return sentence(spoken)


_NOT_OF_A_MESSAGE = frozenset(
    {
        Kind.CALLSIGN,
        Kind.FLIGHT,
        Kind.STATION,
        Kind.FIELD,
        Kind.POSITION,
        Kind.POINT,
        Kind.BREVITY,
        Kind.HESITATION,
        Kind.WHERE,
        Kind.DISTANCE,
    }
)

_ALL_ADDRESSED = (("all", "aircraft"), ("all", "stations"))


def read_message(words: str, world: World) -> Message:
    """A controller's words as a value; the inverse of `say_message`.

    Words that fit no reply of the catalogue still give their elements, under the kind "message".
    """
    parsed = parse(words, world)
    to = ALL if parsed.words[:2] in _ALL_ADDRESSED else parsed.value(Kind.CALLSIGN) or ""
    elements = tuple(
        (element.kind, element.value) for element in parsed.elements if element.kind not in _NOT_OF_A_MESSAGE
    )
    elements += tuple(
        (Kind.REPORT, element.value)
        for element in parsed.all(Kind.POINT)
        if not parsed.has(Kind.REPORT) and (parsed.has(Kind.ACTION) or parsed.has(Kind.CLOSED, "denied"))
    )
    corrects = elements[:1] == ((Kind.ACK, "negative"),) and len(elements) > 1
    elements = elements[corrects:]
    fitting = [reply for reply in REPLIES.values() if _is_exactly(reply, elements)]
    closest = max(
        fitting, key=lambda reply: sum(part.value is not None for part in reply.parts), default=None
    )
    if closest is not None:
        elements = _in_order(closest, elements)
    return Message(closest.name if closest else "message", to, elements, corrects)


def _in_order(reply: ReplyKind, elements: tuple[tuple[Kind, str], ...]) -> tuple[tuple[Kind, str], ...]:
    """The elements as the catalogue orders them: a side may be said inside what it is the side of."""
    return tuple(element for part in reply.parts for element in elements if part.takes(*element))


def _is_exactly(reply: ReplyKind, elements: tuple[tuple[Kind, str], ...]) -> bool:
    """Every part is there, and nothing that is not a part."""
    all_there = all(
        part.optional or any(part.takes(*element) for element in elements) for part in reply.parts
    )
    return all_there and all(
        any(part.takes(*element) for part in reply.parts) or element in _IMPLIED.get(reply.name, ())
        for element in elements
    )


_IMPLIED = {"remain_outside": ((Kind.ACK, "stand_by"),)}
"""What the words around the parts say besides: "remain outside, stand by"."""
