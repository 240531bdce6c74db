"""A call or a reply explained: what is said, what each element costs if it lacks or is wrong, and why.

`explain` makes one value, `Explanation`; what people read (`trainer/commands/explain.py`) and `as_json` are
views of it. It comes from the catalogues and the standard, seen from one example place and flight.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from phraseology.callkind import CallKind
from phraseology.calls import CALLS, SHORT_NAMES
from phraseology.elements import Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.example import SAID_FOR_INSTANCE, example_context, example_message
from phraseology.expected import Expected, Instead, Never, Silence, Slot
from phraseology.readback import answer_to
from phraseology.render import say
from phraseology.replies import REPLIES, Message, ReplyKind, say_message
from phraseology.standards import Rule, Standard
from phraseology.suggesting import nearest

# -- the value -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Way:
    """A way to say something: these words, or with None any words that tell an element of this name."""

    element: str
    words: str | None


@dataclass(frozen=True)
class ElementExplained:
    """One element of a call or an answer.

    `words` say the example's value; with `for_instance` any other value will do as well. `as_good` costs
    nothing, `understood` a minor point. `missing` NONE: it may be left out.
    """

    element: str
    words: str
    for_instance: bool
    missing: Severity
    wrong: Severity
    rule: Rule
    as_good: tuple[Way, ...]
    understood: tuple[Way, ...]

    @property
    def required(self) -> bool:
        return self.missing is not Severity.NONE


@dataclass(frozen=True)
class Ban:
    """What must not be said in a call; where any words of the element are meant, all `but` these."""

    way: Way
    but: tuple[Way, ...]
    severity: Severity
    rule: Rule


@dataclass(frozen=True)
class CallExplained:
    """`elements` in the order they are said; `model` are the words of a perfect call."""

    name: str
    title: str
    when: str
    model: str
    elements: tuple[ElementExplained, ...]
    never: tuple[Ban, ...]
    slips: tuple[str, ...]


class Treatment(StrEnum):
    """What the pilot must do with an element of the tower's message."""

    READ_BACK = "read back"
    ACKNOWLEDGE = "acknowledge"
    ANSWER = "answer"
    NOTHING = "hear"


@dataclass(frozen=True)
class PartExplained:
    """One element of the tower's message; `optional` ones are not always said."""

    element: str
    words: str
    optional: bool
    treatment: Treatment


@dataclass(frozen=True)
class ReplyExplained:
    """`tower` are the controller's words, `answer` the model answer, `elements` what it is judged by.

    `follows` names calls, none: at any time. `answer_due` is False where silence is right too.
    """

    name: str
    title: str
    do: str
    follows: tuple[str, ...]
    tower: str
    parts: tuple[PartExplained, ...]
    answer: str
    answer_due: bool
    elements: tuple[ElementExplained, ...]
    slips: tuple[str, ...]

    def count(self, treatment: Treatment) -> int:
        return sum(part.treatment is treatment for part in self.parts)


@dataclass(frozen=True)
class Lacking:
    """The standard has no such call (or reply), for this reason with its source."""

    name: str
    title: str
    is_call: bool
    reason: str


@dataclass(frozen=True)
class Explanation:
    """Everything of this name in this standard: a call, a reply, or both."""

    standard: Standard
    call: CallExplained | Lacking | None
    reply: ReplyExplained | Lacking | None


def explain(name: str, standard: Standard) -> Explanation:
    """The call and the reply of this name, short or in full, with spaces, hyphens or underscores.

    Raises PhraseologyError with the nearest name and the list if there is neither.
    """
    wanted = name.strip().lower().replace("-", "_").replace(" ", "_")
    call, reply = CALLS.get(SHORT_NAMES.get(wanted, wanted)), REPLIES.get(wanted)
    if call is None and reply is None:
        likely = nearest(wanted, [*CALLS, *REPLIES, *SHORT_NAMES])
        hint = f'; did you mean "{likely}"?' if likely else "."
        raise PhraseologyError(
            f'no call or reply "{name}"{hint} The calls are: {", ".join(CALLS)}.'
            f" The replies are: {', '.join(REPLIES)}."
        )
    return Explanation(
        standard,
        None if call is None else explain_call(call, standard),
        None if reply is None else explain_reply(reply, standard),
    )


def explain_call(call: CallKind, standard: Standard) -> CallExplained | Lacking:
    if call.name in standard.without_calls:
        return Lacking(call.name, call.title, True, standard.without_calls[call.name])
    expected = call.expect(example_context(standard, call.name))
    return CallExplained(
        name=call.name,
        title=call.title,
        when=call.when,
        model=expected.model_call,
        elements=_elements(expected),
        never=tuple(
            Ban(way, _ways([Instead(never.kind, never.but)], standard), never.severity, never.rule)
            for never in expected.never
            for way in _ways([never], standard)
        ),
        slips=call.slips,
    )


def explain_reply(reply: ReplyKind, standard: Standard) -> ReplyExplained | Lacking:
    if reply.name in standard.without_replies:
        return Lacking(reply.name, reply.title, False, standard.without_replies[reply.name])
    msg = example_message(reply.name, standard)
    expected = answer_to(msg, example_context(standard))
    parts = [next(part for part in reply.parts if part.takes(*element)) for element in msg.elements]
    return ReplyExplained(
        name=reply.name,
        title=reply.title,
        do=reply.do,
        follows=reply.answers,
        tower=say_message(msg, standard),
        parts=tuple(
            PartExplained(
                element=kind.value,
                words=f"{part.lead} {say(kind, value, standard, controller=True)}".strip(),
                optional=part.optional,
                treatment=_treatment(kind, value, msg, expected),
            )
            for part, (kind, value) in zip(parts, msg.elements, strict=True)
        ),
        answer=expected.model_call,
        answer_due=expected.silence is not Silence.ALLOWED,
        elements=_elements(expected),
        slips=reply.slips,
    )


# -- how it is made ------------------------------------------------------------------------------------


def _elements(expected: Expected) -> tuple[ElementExplained, ...]:
    return tuple(_element(slot, expected) for slot in expected.slots)


def _element(slot: Slot, expected: Expected) -> ElementExplained:
    standard = expected.context.standard
    value = slot.say if slot.say is not None else SAID_FOR_INSTANCE[slot.kind]
    # A position within two miles is as right; those are other values, no other words.
    same = frozenset() if slot.accept is None or slot.kind is Kind.WHERE else slot.accept - {value}
    others = [Instead(slot.kind, same), Instead(slot.kind, slot.tolerated, full=False), *slot.instead]
    allowed = [other for other in others if not _forbidden(other, expected)]
    words = say(slot.kind, value, standard)
    as_good = _ways([other for other in allowed if other.full], standard)
    if slot.kind is Kind.REPORT:  # a distance is never said without what it measures
        at = words.removeprefix("report ")
        as_good = tuple(
            replace(way, words=at) if way.element == Kind.DISTANCE.value else way for way in as_good
        )
    return ElementExplained(
        element=slot.kind.value,
        words=words,
        for_instance=slot.accept is None,
        missing=slot.missing,
        wrong=slot.wrong,
        rule=slot.rule,
        as_good=as_good,
        understood=_ways([other for other in allowed if not other.full], standard),
    )


def _forbidden(other: Instead, expected: Expected) -> bool:
    """A clearance claims something even where it is understood for what was meant ("cleared to land")."""
    return other.kind is Kind.CLEARANCE and any(never.kind is other.kind for never in expected.never)


def _ways(others: Iterable[Instead | Never], standard: Standard) -> tuple[Way, ...]:
    ways: list[Way] = []
    for other in others:
        if other.values is None:
            ways.append(Way(other.kind.value, None))
        for value in sorted(other.values or ()):
            words = _words(other.kind, value, standard)
            if words is not None:
                ways.append(Way(other.kind.value, words))
    return tuple(dict.fromkeys(ways))


def _words(kind: Kind, value: str, standard: Standard) -> str | None:
    """None for what nobody can say: the place of a break may be a time, and that is no position."""
    try:
        return say(kind, value, standard)
    except PhraseologyError:
        return None


def _treatment(kind: Kind, value: str, msg: Message, expected: Expected) -> Treatment:
    """What the answer does with this element of the message, read off what is expected of it."""
    if kind is Kind.ACK or expected.silence is Silence.ALLOWED:
        return Treatment.NOTHING
    if msg.has(Kind.QUERY) or kind is Kind.TRAFFIC_INFORMATION:
        return Treatment.ANSWER
    own = next((slot for slot in expected.slots if slot.kind is kind and slot.say == value), None)
    if own is None:
        acknowledged = any(instead.kind is kind for slot in expected.slots for instead in slot.instead)
        return Treatment.ACKNOWLEDGE if acknowledged else Treatment.NOTHING
    word_enough = own.missing is Severity.NONE or any(instead.kind is Kind.ACK for instead in own.instead)
    return Treatment.ACKNOWLEDGE if word_enough else Treatment.READ_BACK


# -- the view for programs -----------------------------------------------------------------------------


def as_json(explanation: Explanation) -> dict[str, Any]:
    """The published form of the command line's `--json`."""
    return {
        "standard": explanation.standard.name,
        "call": _json(explanation.call),
        "reply": _json(explanation.reply),
    }


def _json(entry: CallExplained | ReplyExplained | Lacking | None) -> dict[str, Any] | None:
    match entry:
        case None:
            return None
        case Lacking():
            return {"name": entry.name, "title": entry.title, "lacking": entry.reason}
        case CallExplained():
            return {
                "name": entry.name,
                "title": entry.title,
                "when": entry.when,
                "model": entry.model,
                "elements": [_json_element(element) for element in entry.elements],
                "never": [
                    {
                        **_json_way(ban.way),
                        "but": [_json_way(way) for way in ban.but],
                        "severity": ban.severity.value,
                        **_json_rule(ban.rule),
                    }
                    for ban in entry.never
                ],
                "slips": list(entry.slips),
            }
        case ReplyExplained():
            return {
                "name": entry.name,
                "title": entry.title,
                "do": entry.do,
                "follows": list(entry.follows),
                "tower": entry.tower,
                "message": [
                    {
                        "element": part.element,
                        "words": part.words,
                        "optional": part.optional,
                        "pilot": part.treatment.value,
                    }
                    for part in entry.parts
                ],
                "answer": entry.answer,
                "answer_due": entry.answer_due,
                "elements": [_json_element(element) for element in entry.elements],
                "slips": list(entry.slips),
            }


def _json_element(element: ElementExplained) -> dict[str, Any]:
    return {
        "element": element.element,
        "words": element.words,
        "for_instance": element.for_instance,
        "required": element.required,
        "missing": element.missing.value,
        "wrong": element.wrong.value,
        **_json_rule(element.rule),
        "as_good": [_json_way(way) for way in element.as_good],
        "understood": [_json_way(way) for way in element.understood],
    }


def _json_way(way: Way) -> dict[str, str | None]:
    return {"element": way.element, "words": way.words}


def _json_rule(rule: Rule) -> dict[str, str]:
    return {"rule": rule.text, "source": rule.source}
