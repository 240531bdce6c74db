"""What the pilot must answer to a controller's message, element by element.

The tables say for each element of a message what the answer must repeat; all else is a plain
acknowledgement. Sources: AIM 4-4-7, ICAO PANS-ATM 4.5.7.5 and Annex 11 3.7.3 (what is read back);
reports in the pattern that wilco is enough for: common practice.
"""

from collections.abc import Callable
from dataclasses import dataclass

from phraseology.callkind import CRITICAL, MAJOR, MINOR, NONE
from phraseology.elements import Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.expected import Context, Expected, Instead, Never, Silence, Slot
from phraseology.parse import Parsed
from phraseology.render import say, sentence
from phraseology.replies import ALL, Message

_WILCO = Instead(Kind.ACK, frozenset({"wilco"}))
_ROGER = Instead(Kind.ACK, frozenset({"roger", "affirmative"}), full=False)
_PLAIN = Instead(Kind.ACK, frozenset({"wilco", "roger"}))
_AFFIRM = Instead(Kind.ACK, frozenset({"affirmative"}), full=False)
_LOOKING = Instead(Kind.ACK, frozenset({"roger", "wilco"}), full=False)


@dataclass(frozen=True)
class Repeat:
    """An element that the answer must repeat: how bad it is left out or wrong, and by which rule."""

    missing: Severity
    wrong: Severity
    rule: str


_MUST_REPEAT: dict[Kind, Repeat] = {
    Kind.RUNWAY: Repeat(MAJOR, CRITICAL, "readback_runway"),
    Kind.CLEARANCE: Repeat(MAJOR, CRITICAL, "readback_clearance"),
    Kind.CONDITION: Repeat(MAJOR, CRITICAL, "readback_condition"),
    Kind.ALTIMETER: Repeat(MAJOR, MAJOR, "readback_altimeter"),
    Kind.QNH: Repeat(MAJOR, MAJOR, "readback_altimeter"),
    Kind.ALTITUDE: Repeat(MAJOR, MAJOR, "readback_altitude"),
    Kind.HEADING: Repeat(MAJOR, MAJOR, "readback_heading"),
    Kind.SPEED: Repeat(MAJOR, MAJOR, "readback_heading"),
    Kind.FREQUENCY: Repeat(MAJOR, MAJOR, "readback_frequency"),
    Kind.HOLD: Repeat(MAJOR, MAJOR, "readback_hold"),
}
"""Leaving one out is major: the controller must ask again."""


@dataclass(frozen=True)
class Question:
    """What answers a question. `values` are the only right ones; none: what the context knows."""

    kinds: tuple[Kind, ...]
    values: tuple[str, ...] = ()
    severity: Severity = MAJOR


_QUESTIONS: dict[str, Question] = {
    "confirm_gear": Question((Kind.GEAR,), ("down", "in_transit"), CRITICAL),
    "check_wheels_down": Question((Kind.GEAR,), ("down", "in_transit"), CRITICAL),
    "say_position": Question((Kind.POSITION,)),
    "say_altitude": Question((Kind.ALTITUDE,)),
    "say_intentions": Question((Kind.INTENTION,)),
    "say_nature": Question((Kind.NATURE,)),
    "say_fuel_and_souls": Question((Kind.FUEL, Kind.SOULS)),
    "how_do_you_hear": Question((Kind.READABILITY,)),
    "say_callsign": Question((Kind.CALLSIGN,), (), CRITICAL),
    "say_again": Question((Kind.CALLSIGN,), (), CRITICAL),
    "verify": Question((Kind.ATIS,)),
}
_ALSO_ANSWERS = {
    Kind.POSITION: (Instead(Kind.POINT), Instead(Kind.WHERE)),
    Kind.INTENTION: (Instead(Kind.ACTION), Instead(Kind.REQUEST), Instead(Kind.CLOSED), Instead(Kind.REPORT)),
    Kind.NATURE: (Instead(Kind.GEAR, frozenset({"unsafe"})), Instead(Kind.FUEL, frozenset({"minimum"}))),
    Kind.ATIS: (Instead(Kind.ACK, frozenset({"affirmative", "negative"})),),
}
_RULE_OF = {
    Kind.GEAR: "gear",
    Kind.ALTITUDE: "altitude",
    Kind.ATIS: "atis",
    Kind.NATURE: "nature",
    Kind.FUEL: "fuel",
    Kind.SOULS: "souls",
}


def answer_to(message: Message, context: Context) -> Expected:
    """The right answer of `context.callsign` to `message`; silence if it is for somebody else."""
    if message.to and message.to not in (context.callsign, ALL):
        return _silence(message, context)
    if _clears_a_wrong_runway(message, context):
        return _challenge(message, context)
    must: list[Slot] = []
    for kind, value in message.elements:
        must += _slots_for(kind, value, message, context)
    acknowledge = _acknowledgement(message, must, context)
    slots = [_own_callsign(context), *([acknowledge] if acknowledge else []), *must]
    is_question = message.has(Kind.QUERY)
    no_answer_due = (not must and acknowledge is None and not is_question) or (
        message.to == ALL and not message.has(Kind.ACTION)
    )
    return Expected(
        name=f"answer_to_{message.kind}",
        title="Answer",
        slots=tuple(slots),
        model_call=_model_answer(slots, context),
        context=context,
        never=_never(message, context),
        keys=_keys(slots),
        ordered=False,
        silence=Silence.ALLOWED if no_answer_due else Silence.WRONG,
        refusable=not message.has(Kind.ACK, "unable"),
    )


def _own_callsign(context: Context) -> Slot:
    own = frozenset({context.callsign})
    return Slot(Kind.CALLSIGN, context.callsign, own, CRITICAL, CRITICAL, context.standard.rules["callsign"])


def _silence(message: Message, context: Context) -> Expected:
    return Expected(
        name="silence",
        title=f"Silence: the message is for {message.to}",
        slots=(),
        model_call="",
        context=context,
        silence=Silence.REQUIRED,
    )


# -- a clearance that must not be accepted -------------------------------------------------------------


def _clears_a_wrong_runway(message: Message, context: Context) -> bool:
    """A landing clearance for another runway than the one in use: controllers err too."""
    runway = message.value(Kind.RUNWAY)
    return message.has(Kind.CLEARANCE) and runway is not None and runway != context.runway


def _challenge(message: Message, context: Context) -> Expected:
    """ "Verify runway three one": the clearance is neither accepted nor passed over."""
    rules = context.standard.rules
    refusals = (
        Instead(Kind.QUERY, frozenset({"verify", "say_again"})),
        Instead(Kind.ACK, frozenset({"unable", "negative"})),
        Instead(Kind.ACTION, frozenset({"going_around"})),
    )
    rivals = frozenset({Kind.INTENTION, Kind.ACK})
    slots = (
        _own_callsign(context),
        Slot(Kind.CLEARANCE, None, frozenset(), MAJOR, CRITICAL, rules["wrong_runway"],
             instead=refusals, rivals=rivals),
    )  # fmt: skip
    runway = say(Kind.RUNWAY, context.runway, context.standard)
    verify = say(Kind.QUERY, "verify", context.standard)
    named = frozenset({context.runway, message.value(Kind.RUNWAY) or context.runway})
    return Expected(
        name="challenge",
        title="Challenge: the clearance is for another runway",
        slots=slots,
        model_call=f"{say(Kind.CALLSIGN, context.callsign, context.standard)}, {verify} {runway}",
        context=context,
        never=(Never(Kind.RUNWAY, None, CRITICAL, rules["wrong_runway"], but=named),),
        keys=(lambda parsed: any(parsed.has(kind) for kind in (Kind.QUERY, Kind.ACK, Kind.CLEARANCE)),),
        ordered=False,
    )


# -- what must be repeated, and what answers a question ------------------------------------------------


def _slots_for(kind: Kind, value: str, message: Message, context: Context) -> list[Slot]:
    rules = context.standard.rules
    if kind in _MUST_REPEAT:
        repeat = _MUST_REPEAT[kind]
        return [
            Slot(kind, value, frozenset({value}), repeat.missing, repeat.wrong, rules[repeat.rule],
                 instead=_short_forms(kind, value),
                 rivals=_RIVALS.get(kind, frozenset()))
        ]  # fmt: skip
    if kind is Kind.REPORT:
        return [_report(value, context)]
    if kind is Kind.SIDE:
        must = message.has(Kind.HEADING) or message.has(Kind.ACTION)
        return [Slot(kind, value, frozenset({value}), MAJOR if must else NONE, CRITICAL, rules["side"])]
    if kind is Kind.BREAK and value not in ("approved", "now"):
        return [
            Slot(kind, value, frozenset({value}), MAJOR, MAJOR, rules["acknowledge"],
                 instead=(_WILCO, _ROGER, Instead(Kind.POSITION, frozenset({value}))))
        ]  # fmt: skip
    if kind is Kind.TRAFFIC_INFORMATION:
        return [
            Slot(Kind.TRAFFIC, "in_sight", frozenset({"in_sight", "not_in_sight"}), MINOR, MAJOR,
                 rules["traffic"], instead=(_LOOKING,))
        ]  # fmt: skip
    if kind is Kind.QUERY:
        return _answers(value, message, context)
    return []


_RIVALS = {
    Kind.CLEARANCE: frozenset({Kind.INTENTION}),
    Kind.HOLD: frozenset({Kind.POINT, Kind.REPORT}),
}
"""Kinds that do the same job: with another value they are wrong."""


def _short_forms(kind: Kind, value: str) -> tuple[Instead, ...]:
    if kind is Kind.CLEARANCE:
        return (Instead(Kind.INTENTION, frozenset({value})),)
    if kind is Kind.HOLD:
        return (Instead(Kind.POINT, frozenset({value})), Instead(Kind.REPORT, frozenset({value})))
    if kind is Kind.CONDITION and value.startswith("at "):
        return (Instead(Kind.POSITION, frozenset({value.removeprefix("at ")})),)
    return ()


def _report(value: str, context: Context) -> Slot:
    """A named point must be repeated; for a report in the pattern wilco is enough."""
    name, _, miles = value.partition(" ")
    rule = context.standard.rules["readback_report"]
    if name.isupper():
        repeat: tuple[Instead, ...] = (Instead(Kind.POINT, frozenset({name})),)
        rivals = frozenset({Kind.POINT, Kind.HOLD})
    else:
        repeat = (Instead(Kind.POSITION, frozenset({name}), full=not miles), _WILCO, _ROGER)
        rivals = frozenset({Kind.DISTANCE, Kind.POINT, Kind.HOLD})
        if miles:
            repeat = (Instead(Kind.DISTANCE, frozenset({miles})), *repeat)
    tolerated = frozenset({name}) if miles else frozenset()
    return Slot(Kind.REPORT, value, frozenset({value}), MAJOR, MAJOR, rule, tolerated, repeat, rivals)


def _answers(value: str, message: Message, context: Context) -> list[Slot]:
    question = _QUESTIONS[value]
    if value == "verify" and not message.has(Kind.ATIS):
        if not message.has(Kind.GEAR):
            return []
        question = _QUESTIONS["confirm_gear"]
    known = {
        Kind.POSITION: context.position,
        Kind.INTENTION: context.intention,
        Kind.ALTITUDE: None if context.altitude_ft is None else str(context.altitude_ft),
        Kind.NATURE: context.nature,
        Kind.FUEL: None if context.fuel_min is None else str(context.fuel_min),
        Kind.SOULS: None if context.souls is None else str(context.souls),
        Kind.ATIS: context.atis,
    }
    example = {
        Kind.READABILITY: "5",
        Kind.NATURE: "engine_failure",
        Kind.FUEL: "20",
        Kind.SOULS: "2",
        Kind.ALTITUDE: "2700",
        Kind.POSITION: "initial",
        Kind.INTENTION: "touch_and_go",
        Kind.ATIS: message.value(Kind.ATIS),
    }
    slots = []
    for kind in question.kinds:
        if kind is Kind.CALLSIGN:
            continue
        fixed = known.get(kind)
        values = question.values or ((fixed,) if fixed is not None else ())
        rule = context.standard.rules[_RULE_OF.get(kind, "answer")]
        slots.append(
            Slot(
                kind,
                values[0] if values else example.get(kind),
                frozenset(values) or None,
                question.severity,
                question.severity,
                rule,
                instead=_ALSO_ANSWERS.get(kind, ()),
            )
        )
    return slots


def _acknowledgement(message: Message, must: list[Slot], context: Context) -> Slot | None:
    """The slot that says "I have it": an instruction wants wilco or its own words, the rest a roger.

    Where something is read back anyway, the read-back acknowledges whatever else was said.
    """
    rules = context.standard.rules
    instruction = message.value(Kind.ACTION)
    if instruction:
        missing = MINOR if must else MAJOR
        alike = {"extend_downwind", "extend_upwind"} & {instruction}
        values = frozenset({instruction} | ({"extending"} if alike else set()))
        roger = _PLAIN if instruction == "continue" else _ROGER
        short = (
            (Instead(Kind.REQUEST, frozenset({"straight_in"})),) if instruction == "make_straight_in" else ()
        )
        return Slot(
            Kind.ACTION,
            instruction,
            values,
            missing,
            CRITICAL,
            rules["acknowledge"],
            instead=(_WILCO, roger, *short),
        )
    granted = [
        (kind, value)
        for kind, value in message.elements
        if kind in (Kind.CLOSED, Kind.BREAK, Kind.OVERHEAD, Kind.SEQUENCE, Kind.FOLLOW)
        and (kind, value) not in ((Kind.CLOSED, "denied"), (Kind.OVERHEAD, "denied"))
        and not (kind is Kind.BREAK and value not in ("approved", "now"))
    ]
    if not granted:
        return None
    kind, value = granted[0]
    instead = [_PLAIN, _AFFIRM, Instead(Kind.TRAFFIC)]
    instead += [Instead(k, None if k is Kind.FOLLOW else frozenset({v})) for k, v in granted[1:]]
    if kind is Kind.CLOSED:
        instead.append(Instead(Kind.CLOSED, frozenset({"bare"})))
    if kind is Kind.BREAK:
        instead.append(Instead(Kind.POSITION, frozenset({"break"})))
    if kind is Kind.OVERHEAD:
        instead.append(Instead(Kind.REQUEST, frozenset({"overhead"})))
    missing = NONE if any(slot.missing is not NONE for slot in must) else MINOR
    return Slot(kind, value, frozenset({value}), missing, MAJOR,
                rules["acknowledge"], instead=tuple(instead))  # fmt: skip


# -- what must not be claimed --------------------------------------------------------------------------

_GRANTED = frozenset({"approved"})
_GEAR_IS_UP = frozenset({Kind.CLOSED, Kind.OVERHEAD, Kind.BREAK, Kind.HOLD, Kind.UNAVAILABLE})
_FLOWN_GEAR_UP = frozenset(
    {"breaking_out", "climbing_out", "extend_upwind", "remain_clear", "remain_outside", "straight_through"}
)
"""Messages that reach an aircraft with its gear up: "gear down" in the answer is false."""


def _never(message: Message, context: Context) -> tuple[Never, ...]:
    """What this answer must not claim: above all a clearance that the message does not give."""
    rules = context.standard.rules
    given = {kind for kind, _ in message.elements}
    if message.has(Kind.ACK, "go_ahead"):
        return tuple(
            Never(kind, None if kind is Kind.CLEARANCE else _GRANTED, CRITICAL, rules["not_given"])
            for kind in (Kind.CLEARANCE, Kind.CLOSED, Kind.BREAK, Kind.OVERHEAD)
        )
    asked = {kind for value in (message.value(Kind.QUERY),) if value for kind in _QUESTIONS[value].kinds}
    never: list[Never] = []
    if Kind.CLEARANCE not in given:
        never.append(Never(Kind.CLEARANCE, None, CRITICAL, rules["not_given"]))
    if not message.has(Kind.CLOSED, "approved"):
        never.append(Never(Kind.CLOSED, frozenset({"approved", "bare"}), CRITICAL, rules["not_given"]))
        never.append(Never(Kind.CLOSED, frozenset({"requested"}), MAJOR, rules["acknowledge"]))
    if not message.has(Kind.CLOSED, "denied"):
        never.append(Never(Kind.CLOSED, frozenset({"denied"}), MAJOR, rules["acknowledge"]))
    if not message.has(Kind.OVERHEAD, "approved"):
        never.append(Never(Kind.OVERHEAD, frozenset({"approved"}), CRITICAL, rules["not_given"]))
    if Kind.BREAK not in given:
        never.append(Never(Kind.BREAK, None, CRITICAL, rules["not_given"]))
    if Kind.ACTION not in given:
        never.append(Never(Kind.ACTION, None, MAJOR, rules["acknowledge"]))
    if Kind.RUNWAY not in given:
        own = frozenset({context.runway})
        never.append(Never(Kind.RUNWAY, None, CRITICAL, rules["runway"], but=own))
    if Kind.SIDE not in given and context.side is not None:
        other = {"left": "right", "right": "left"}[context.side]
        never.append(Never(Kind.SIDE, frozenset({other}), CRITICAL, rules["side"]))
    for kind in (Kind.ALTITUDE, Kind.ALTIMETER, Kind.QNH, Kind.HEADING, Kind.FREQUENCY):
        if kind not in given | asked:
            never.append(Never(kind, None, MAJOR, rules["not_given"]))
    if not given & {Kind.REPORT, Kind.HOLD, Kind.UNAVAILABLE} and not message.has(Kind.QUERY):
        never.append(Never(Kind.POINT, None, MAJOR, rules["point"]))
    if given & _GEAR_IS_UP or message.value(Kind.ACTION) in _FLOWN_GEAR_UP:
        never.append(Never(Kind.GEAR, frozenset({"down"}), CRITICAL, rules["gear_false"]))
    return tuple(never)


# -- the model -----------------------------------------------------------------------------------------


def _model_answer(slots: list[Slot], context: Context) -> str:
    """Callsign, then what must be repeated, as a good pilot says it."""
    spoken: list[tuple[Kind | None, str]] = []
    repeats_something = any(slot.missing is MAJOR and slot.kind is not Kind.ACTION for slot in slots)
    turns = any(slot.say == "three_sixty" for slot in slots)
    conditional = any(slot.kind is Kind.CONDITION for slot in slots)
    for slot in sorted(slots, key=lambda slot: turns and slot.kind is Kind.ACTION):  # "left three sixty"
        if slot.say is None:
            continue
        named = slot.missing is not NONE or (conditional and slot.kind is Kind.CLOSED)
        skip = not named or (slot.kind in (Kind.SEQUENCE, Kind.FOLLOW) and repeats_something)
        if skip:
            continue
        try:
            spoken.append((slot.kind, say(slot.kind, slot.say, context.standard)))
        except PhraseologyError:  # the controller named a value that nobody has
            own = say(Kind.CALLSIGN, context.callsign, context.standard)
            return f"{own}, {say(Kind.QUERY, 'say_again', context.standard)}"
    return sentence(spoken)


def _keys(slots: list[Slot]) -> tuple[Callable[[Parsed], bool], ...]:
    """An answer is given away by an acknowledging word or by anything of what it has to repeat."""
    kinds = [slot.kind for slot in slots if slot.kind is not Kind.CALLSIGN]
    insteads = [instead for slot in slots for instead in slot.instead]

    def repeats(parsed: Parsed) -> bool:
        return any(parsed.has(kind) for kind in kinds) or any(
            instead.fits(element) for instead in insteads for element in parsed.elements
        )

    return (lambda parsed: parsed.has(Kind.ACK), repeats)
