"""The catalogue of what the controller says, as values that render to words and are read from words.

A reply is one entry: its parts in the order they are said. What the pilot must answer follows from
the parts by the read-back table (`readback.py`), so a new reply needs no rule of its own.
"""

from dataclasses import dataclass

from rapidfuzz import process

from phraseology.elements import Kind, runway_name
from phraseology.errors import PhraseologyError
from phraseology.parse import World, parse
from phraseology.render import say, sentence
from phraseology.standards import Standard


@dataclass(frozen=True)
class Part:
    """One element of a reply. `value` is fixed, or None: then it is the message's field of the same kind.

    `lead` and `tail` are words around it. `optional` parts are left out where the field is not given.
    """

    kind: Kind
    value: str | None = None
    optional: bool = False
    lead: str = ""
    tail: str = ""


@dataclass(frozen=True)
class ReplyKind:
    """`answers` names the calls that the reply can follow."""

    name: str
    title: str
    answers: tuple[str, ...]
    parts: tuple[Part, ...]


_LANDINGS = ("gear_report",)
_ANY_CALL = (
    "check_in",
    "entry_point",
    "initial",
    "break_report",
    "gear_report",
    "request_closed",
    "outside_downwind",
)

REPLIES: dict[str, ReplyKind] = {
    reply.name: reply
    for reply in (
        ReplyKind(
            "overhead_approved",
            "Overhead approved",
            ("check_in",),
            (
                Part(Kind.RUNWAY),
                Part(Kind.OVERHEAD, "approved"),
                Part(Kind.ALTITUDE, optional=True, lead="pattern altitude"),
                Part(Kind.WIND, optional=True),
                Part(Kind.ALTIMETER, optional=True),
                Part(Kind.REPORT),
            ),
        ),
        ReplyKind(
            "report",
            "Report a place",
            ("entry_point", "outside_downwind", "going_around", "straight_through", "breaking_out"),
            (Part(Kind.REPORT),),
        ),
        ReplyKind("roger", "Roger", _ANY_CALL, (Part(Kind.ACK, "roger"),)),
        ReplyKind(
            "stand_by",
            "Stand by",
            ("check_in", "entry_point", "request_closed"),
            (Part(Kind.ACK, "stand_by"),),
        ),
        ReplyKind("break_approved", "Break approved", ("initial",), (Part(Kind.BREAK, "approved"),)),
        ReplyKind("break_at", "Break at a place", ("initial",), (Part(Kind.BREAK),)),
        ReplyKind(
            "break_in_sequence",
            "Break approved behind traffic",
            ("initial",),
            (Part(Kind.SEQUENCE), Part(Kind.FOLLOW), Part(Kind.BREAK, "approved")),
        ),
        ReplyKind("report_break", "Report the break", ("initial",), (Part(Kind.REPORT, "break"),)),
        ReplyKind(
            "straight_through",
            "Straight through",
            ("initial",),
            (Part(Kind.ACTION, "straight_through"), Part(Kind.REPORT, optional=True)),
        ),
        ReplyKind(
            "breakout", "Breakout", ("initial",), (Part(Kind.ACTION, "breaking_out"), Part(Kind.REPORT))
        ),
        ReplyKind(
            "cleared",
            "Landing clearance",
            _LANDINGS,
            (Part(Kind.RUNWAY), Part(Kind.WIND, optional=True), Part(Kind.CLEARANCE)),
        ),
        ReplyKind(
            "cleared_in_sequence",
            "Landing clearance behind traffic",
            _LANDINGS,
            (
                Part(Kind.SEQUENCE),
                Part(Kind.FOLLOW),
                Part(Kind.RUNWAY),
                Part(Kind.WIND, optional=True),
                Part(Kind.CLEARANCE),
            ),
        ),
        ReplyKind(
            "sequence",
            "Sequence behind traffic",
            ("initial", *_LANDINGS),
            (Part(Kind.SEQUENCE), Part(Kind.FOLLOW)),
        ),
        ReplyKind("continue_approach", "Continue", _LANDINGS, (Part(Kind.ACTION, "continue"),)),
        ReplyKind(
            "extend_downwind",
            "Extend downwind",
            _LANDINGS,
            (Part(Kind.ACTION, "extend_downwind", tail="i will call your turn"),),
        ),
        ReplyKind(
            "turn_base",
            "Turn base, with the landing clearance",
            _LANDINGS,
            (
                Part(Kind.ACTION, "turn_base"),
                Part(Kind.RUNWAY),
                Part(Kind.WIND, optional=True),
                Part(Kind.CLEARANCE),
            ),
        ),
        ReplyKind("go_around", "Go around", _LANDINGS, (Part(Kind.ACTION, "going_around"),)),
        ReplyKind(
            "check_wheels_down", "Check wheels down", _LANDINGS, (Part(Kind.QUERY, "check_wheels_down"),)
        ),
        ReplyKind(
            "closed_approved", "Closed approved", ("request_closed",), (Part(Kind.CLOSED, "approved"),)
        ),
        ReplyKind(
            "closed_denied_breakout",
            "Closed denied, breakout",
            ("request_closed",),
            (Part(Kind.CLOSED, "denied"), Part(Kind.ACTION, "breaking_out"), Part(Kind.REPORT)),
        ),
        ReplyKind(
            "closed_denied_climb_out",
            "Closed denied, climb out",
            ("request_closed",),
            (
                Part(Kind.CLOSED, "denied"),
                Part(Kind.ACTION, "climbing_out"),
                Part(Kind.ALTITUDE, lead="at or above"),
                Part(Kind.REPORT),
            ),
        ),
        ReplyKind(
            "closed_denied_outside",
            "Closed denied, round the outside",
            ("request_closed",),
            (Part(Kind.CLOSED, "denied"), Part(Kind.REPORT)),
        ),
        ReplyKind(
            "extend_upwind", "Extend upwind", ("request_closed",), (Part(Kind.ACTION, "extend_upwind"),)
        ),
        ReplyKind("say_again", "Say again", _ANY_CALL, (Part(Kind.QUERY, "say_again"),)),
        ReplyKind("say_callsign", "Say callsign", _ANY_CALL, (Part(Kind.QUERY, "say_callsign"),)),
        ReplyKind("say_position", "Say position", _ANY_CALL, (Part(Kind.QUERY, "say_position"),)),
        ReplyKind("say_intentions", "Say intentions", _ANY_CALL, (Part(Kind.QUERY, "say_intentions"),)),
        ReplyKind("confirm_gear", "Confirm gear", _LANDINGS, (Part(Kind.QUERY, "confirm_gear"),)),
    )
}


@dataclass(frozen=True)
class Message:
    """What the controller says to one station. `kind` names a reply, or is "message" for any other mix.

    `to` is a callsign, or "" for a station whose name was not heard. `elements` are in the order said.
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
    near = process.extractOne(name, REPLIES.keys(), score_cutoff=60)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    raise PhraseologyError(f'no reply "{name}"{hint} The replies are: {", ".join(REPLIES)}.')


def message(name: str, to: str, fields: dict[Kind, str]) -> Message:
    """A reply of the catalogue with its fields; raises PhraseologyError if one is lacking."""
    elements = []
    for part in reply_kind(name).parts:
        value = part.value if part.value is not None else fields.get(part.kind)
        if value is not None:
            elements.append((part.kind, runway_name(value) if part.kind is Kind.RUNWAY else value))
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
        spoken.append((Kind.ACK, "negative"))
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
        Kind.STATION,
        Kind.POSITION,
        Kind.POINT,
        Kind.BREVITY,
        Kind.HESITATION,
        Kind.WHERE,
        Kind.DISTANCE,
    }
)


def read_message(words: str, world: World) -> Message:
    """A controller's words as a value; the inverse of `say_message`.

    Words that fit no reply of the catalogue still give their elements, under the kind "message".
    """
    parsed = parse(words, world)
    to = parsed.value(Kind.CALLSIGN) or ""
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
    return Message(closest.name if closest else "message", to, elements, corrects)


def _is_exactly(reply: ReplyKind, elements: tuple[tuple[Kind, str], ...]) -> bool:
    """Every part is there, and nothing that is not a part."""
    for part in reply.parts:
        if not part.optional and not any(
            kind is part.kind and part.value in (None, value) for kind, value in elements
        ):
            return False
    return all(
        any(kind is part.kind and part.value in (None, value) for part in reply.parts)
        for kind, value in elements
    )
