"""What the pilot must answer to a controller's message, element by element.

The table says for each element of a message what the answer must repeat; all else is a plain
acknowledgement. Sources: AIM 4-4-7, ICAO PANS-ATM 4.5.7.5 and Annex 11 3.7.3 (what is read back);
reports in the pattern that wilco is enough for: common practice.
"""

from collections.abc import Callable

from phraseology.calls import CRITICAL, MAJOR, MINOR, NONE
from phraseology.elements import Kind, Severity
from phraseology.expected import Context, Expected, Instead, Never, Silence, Slot
from phraseology.parse import Parsed
from phraseology.render import say, sentence
from phraseology.replies import Message

_WILCO = Instead(Kind.ACK, frozenset({"wilco"}))
_ROGER = Instead(Kind.ACK, frozenset({"roger", "affirmative"}), full=False)
_PLAIN = Instead(Kind.ACK, frozenset({"wilco", "roger"}))
_AFFIRM = Instead(Kind.ACK, frozenset({"affirmative"}), full=False)

_MUST_REPEAT: dict[Kind, tuple[Severity, str]] = {
    Kind.RUNWAY: (CRITICAL, "readback_runway"),
    Kind.CLEARANCE: (CRITICAL, "readback_clearance"),
    Kind.ALTIMETER: (MAJOR, "readback_altimeter"),
    Kind.ALTITUDE: (MAJOR, "readback_altitude"),
}
"""Kind, severity of a wrong value, rule. Leaving one out is major: the controller must ask again."""

_RUNWAYS = frozenset(
    f"{number}{side}" for number in range(1, 37) for side in ("", " left", " right", " center")
)

_QUESTIONS: dict[str, tuple[Kind, tuple[str, ...], Severity]] = {
    "confirm_gear": (Kind.GEAR, ("down", "in_transit"), CRITICAL),
    "check_wheels_down": (Kind.GEAR, ("down", "in_transit"), CRITICAL),
    "say_position": (Kind.POSITION, (), MAJOR),
    "say_intentions": (Kind.INTENTION, (), MAJOR),
    "say_callsign": (Kind.CALLSIGN, (), CRITICAL),
    "say_again": (Kind.CALLSIGN, (), CRITICAL),
}
_ALSO_ANSWERS = {
    Kind.POSITION: (Instead(Kind.POINT), Instead(Kind.WHERE)),
    Kind.INTENTION: (Instead(Kind.ACTION), Instead(Kind.REQUEST), Instead(Kind.CLOSED), Instead(Kind.REPORT)),
}


def answer_to(message: Message, context: Context) -> Expected:
    """The right answer of `context.callsign` to `message`; silence if it is for somebody else."""
    if message.to and message.to != context.callsign:
        return _silence(message, context)
    rules = context.standard.rules
    slots = [
        Slot(
            Kind.CALLSIGN,
            context.callsign,
            frozenset({context.callsign}),
            CRITICAL,
            CRITICAL,
            rules["callsign"],
        )
    ]
    must: list[Slot] = []
    for kind, value in message.elements:
        if kind in _MUST_REPEAT:
            wrong, rule = _MUST_REPEAT[kind]
            said_short = kind is Kind.CLEARANCE
            must.append(
                Slot(kind, value, frozenset({value}), MAJOR, wrong, rules[rule],
                     instead=(Instead(Kind.INTENTION, frozenset({value})),) if said_short else (),
                     rivals=frozenset({Kind.INTENTION}) if said_short else frozenset())
            )  # fmt: skip
        elif kind is Kind.REPORT:
            must.append(_report(value, context))
        elif kind is Kind.BREAK and value != "approved":
            must.append(
                Slot(kind, value, frozenset({value}), MAJOR, MAJOR, rules["acknowledge"],
                     instead=(_WILCO, _ROGER, Instead(Kind.POSITION, frozenset({value}))))
            )  # fmt: skip
        elif kind is Kind.QUERY and _QUESTIONS[value][0] is not Kind.CALLSIGN:
            must.append(_question(value, context))
    acknowledge = _acknowledgement(message, must, context)
    slots += [acknowledge] if acknowledge else []
    slots += must
    is_question = message.has(Kind.QUERY)
    no_answer_due = not must and acknowledge is None and not is_question
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


def _silence(message: Message, context: Context) -> Expected:
    return Expected(
        name="silence",
        title=f"Silence: the message is for {message.to}",
        slots=(),
        model_call="",
        context=context,
        silence=Silence.REQUIRED,
    )


def _report(value: str, context: Context) -> Slot:
    """A named point must be repeated; for a report in the pattern wilco is enough."""
    name, _, miles = value.partition(" ")
    rule = context.standard.rules["readback_report"]
    if name.isupper():
        repeat: tuple[Instead, ...] = (Instead(Kind.POINT, frozenset({name})),)
        rivals = frozenset({Kind.POINT})
    else:
        repeat = (Instead(Kind.POSITION, frozenset({name}), full=not miles), _WILCO, _ROGER)
        rivals = frozenset({Kind.DISTANCE, Kind.POINT})
        if miles:
            repeat = (Instead(Kind.DISTANCE, frozenset({miles})), *repeat)
    tolerated = frozenset({name}) if miles else frozenset()
    return Slot(Kind.REPORT, value, frozenset({value}), MAJOR, MAJOR, rule, tolerated, repeat, rivals)


def _question(value: str, context: Context) -> Slot:
    kind, values, severity = _QUESTIONS[value]
    rule = context.standard.rules["gear" if kind is Kind.GEAR else "answer"]
    known = {Kind.POSITION: context.position, Kind.INTENTION: context.intention}.get(kind)
    answers = values or ((known,) if known is not None else ())
    return Slot(
        kind,
        answers[0] if answers else None,
        frozenset(answers) or None,
        severity,
        severity,
        rule,
        instead=_ALSO_ANSWERS.get(kind, ()),
    )


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
        return Slot(
            Kind.ACTION, instruction, values, missing, CRITICAL, rules["acknowledge"], instead=(_WILCO, roger)
        )
    granted = [
        (kind, value)
        for kind, value in message.elements
        if kind in (Kind.CLOSED, Kind.BREAK, Kind.OVERHEAD, Kind.SEQUENCE, Kind.FOLLOW)
        and (kind, value) != (Kind.CLOSED, "denied")
        and not (kind is Kind.BREAK and value != "approved")
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
    missing = NONE if must else MINOR
    return Slot(kind, value, frozenset({value}), missing, MAJOR,
                rules["acknowledge"], instead=tuple(instead))  # fmt: skip


def _never(message: Message, context: Context) -> tuple[Never, ...]:
    """What this answer must not claim: above all a clearance that the message does not give."""
    rules = context.standard.rules
    given = {kind for kind, _ in message.elements}
    never: list[Never] = []
    if Kind.CLEARANCE not in given:
        never.append(Never(Kind.CLEARANCE, None, CRITICAL, rules["not_given"]))
    if not message.has(Kind.CLOSED, "approved"):
        never.append(Never(Kind.CLOSED, frozenset({"approved", "bare"}), CRITICAL, rules["not_given"]))
        never.append(Never(Kind.CLOSED, frozenset({"requested"}), MAJOR, rules["acknowledge"]))
    if not message.has(Kind.CLOSED, "denied"):
        never.append(Never(Kind.CLOSED, frozenset({"denied"}), MAJOR, rules["acknowledge"]))
    if Kind.BREAK not in given:
        never.append(Never(Kind.BREAK, None, CRITICAL, rules["not_given"]))
    if Kind.ACTION not in given:
        never.append(Never(Kind.ACTION, None, MAJOR, rules["acknowledge"]))
    if Kind.RUNWAY not in given:
        never.append(Never(Kind.RUNWAY, _RUNWAYS - {context.runway}, CRITICAL, rules["runway"]))
    for kind in (Kind.ALTITUDE, Kind.ALTIMETER):
        if kind not in given:
            never.append(Never(kind, None, MAJOR, rules["not_given"]))
    if Kind.REPORT not in given and not message.has(Kind.QUERY):
        never.append(Never(Kind.POINT, None, MAJOR, rules["point"]))
    if message.has(Kind.CLOSED) or message.has(Kind.OVERHEAD) or message.has(Kind.BREAK):
        never.append(Never(Kind.GEAR, frozenset({"down"}), CRITICAL, rules["gear_false"]))
    return tuple(never)


def _model_answer(slots: list[Slot], context: Context) -> str:
    """Callsign, then what must be repeated, as a good pilot says it."""
    spoken: list[tuple[Kind | None, str]] = []
    repeats_something = any(slot.missing is MAJOR and slot.kind is not Kind.ACTION for slot in slots)
    for slot in slots:
        if slot.say is None:
            continue
        skip = slot.missing is NONE or (slot.kind in (Kind.SEQUENCE, Kind.FOLLOW) and repeats_something)
        if not skip:
            spoken.append((slot.kind, say(slot.kind, slot.say, context.standard)))
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
