"""Which call or answer was made, where nobody says what was due: the one of the catalogues that fits best."""

from collections.abc import Iterator
from dataclasses import dataclass

from phraseology.assess import assess
from phraseology.assessment import COST, Verdict
from phraseology.calls import CALLS, call_kind, expect
from phraseology.elements import Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.example import example_message
from phraseology.expected import Context, Expected
from phraseology.heard import Heard
from phraseology.parse import Parsed, parse
from phraseology.readback import answer_to
from phraseology.replies import REPLIES, Message, ReplyKind, message

CALL_BEFORE_ANSWER = COST[Severity.MINOR]
"""What can be both is taken for a call unless the answer fits better by more than this. Of the right cases in
`tests/phraseology/cases`, of which nobody says what was due, 935 of 959 calls are then found by name; of the
734 answers 399, since the same words answer many messages."""

_SAY_NOTHING_ELSE = frozenset(
    {Kind.CALLSIGN, Kind.STATION, Kind.FIELD, Kind.FLIGHT, Kind.ACK, Kind.BREVITY, Kind.HESITATION}
)


@dataclass(frozen=True)
class Recognised:
    """A call by its name in the catalogue, an answer as `answer_to_` and the reply that it answers."""

    name: str
    title: str


ACKNOWLEDGEMENT = Recognised("acknowledgement", "Answer: acknowledged, nothing repeated")
"""What "wilco" alone answers, no one can tell from it."""


def calls_of(context: Context) -> list[Expected]:
    """Every call that the context's standard has; those to no tower are addressed to the field's traffic."""
    names = [name for name in CALLS if name not in context.standard.without_calls]
    tower, traffic = (
        context.with_(station=f"{context.world.field_name} {who}") for who in ("tower", "traffic")
    )
    return [expect(name, traffic if call_kind(name).without_tower else tower) for name in names]


def answers_of(context: Context, parsed: Parsed | None = None) -> list[tuple[ReplyKind, Expected]]:
    """The answer to every reply that the standard has, to the values that were heard, else to some."""
    replies = [reply for reply in REPLIES.values() if reply.name not in context.standard.without_replies]
    return [(reply, answer_to(_tower_may_have_said(reply, context, parsed), context)) for reply in replies]


def which_call(heard: Heard, context: Context, due: Expected | None = None) -> Recognised | None:
    """The call or answer that was made; None if the words give none away. What was due goes before others."""
    parsed = parse(heard, context.world)
    if due is not None and due.given_away_by(parsed):
        return Recognised(due.name, due.title)
    best = max(_given_away(heard, parsed, context), key=lambda candidate: candidate[0], default=(None, None))[
        1
    ]
    if 2 * sum(element.end - element.start for element in parsed.elements) < len(parsed.words):
        return None  # talk of something else, with a word of the trade in it
    only_acknowledged = all(element.kind in _SAY_NOTHING_ELSE for element in parsed.elements)
    return ACKNOWLEDGEMENT if best and only_acknowledged and best.name not in CALLS else best


def _given_away(
    heard: Heard, parsed: Parsed, context: Context
) -> Iterator[tuple[tuple[int, int], Recognised]]:
    """What the words could be, each with its score and how many of its elements are right."""
    to_traffic = f"{context.world.field_name} traffic" in heard.text
    named = [
        (expected, Recognised(expected.name, expected.title))
        for expected in calls_of(context)
        if call_kind(expected.name).without_tower == to_traffic
    ]
    if not to_traffic:
        named += [
            (expected, Recognised(f"answer_to_{reply.name}", f"Answer: {reply.title}"))
            for reply, expected in answers_of(context, parsed)
        ]
    for expected, recognised in named:
        if expected.given_away_by(parsed):
            assessment = assess(expected, heard)
            right = sum(judged.verdict is Verdict.RIGHT for judged in assessment.elements)
            handicap = 0 if expected.name in CALLS else CALL_BEFORE_ANSWER
            yield (assessment.score - handicap, right), recognised


def _tower_may_have_said(reply: ReplyKind, context: Context, parsed: Parsed | None) -> Message:
    example = example_message(reply.name, context.standard)
    fields = dict(example.elements)
    if Kind.RUNWAY in fields and reply.name != "runway_change":
        fields[Kind.RUNWAY] = context.runway
    for part in reply.parts:
        said = parsed.value(part.kind) if parsed else None
        if part.value is None and said is not None and part.takes(part.kind, said):
            fields[part.kind] = said
    try:
        return message(reply.name, context.callsign, fields)
    except PhraseologyError:  # heard is a value that this field does not have
        return message(reply.name, context.callsign, dict(example.elements))
