"""What may plausibly be heard here: right calls, wrong calls, and the words between them.

A recogniser that is offered only the right answer hears it in anything. So every element of every
call that could be made here stands beside its wrong values (`sayings`), and may be left out or come in
another order. Prices are negative natural logarithms; they are set by hand and held by the hearing tests.
"""

from collections.abc import Iterable

from phraseology.commands import Command, sentences
from phraseology.elements import Kind, Severity
from phraseology.expected import Context, Expected, Slot
from phraseology.phrases import CORRECTION
from phraseology.sayings import ANOTHER_FORM, any_of, bare_callsign, bare_runway, words_for
from phraseology.wordgraph import Choice, Many, Maybe, Node, Say, Seq, WordAutomaton, automaton

MOST_ARCS = 6000
"""No situation is larger: about 4 MB of decoding graph, written in some 60 ms (DEVELOPERS.md)."""

LEFT_OUT = 3.0
WITHOUT_ITS_WORD = 2.0
NOT_ASKED_FOR = 1.5
OTHER_CALL = 2.0
LOOSE_ORDER = 4.0
COMMAND = 3.0
"""Price of a word to the trainer itself: short words are found in much."""

AGAIN = 2.0
"""Price of each further element in the loop of all elements."""

_WHOM_AND_WHO = (Kind.STATION, Kind.CALLSIGN)
_ONLY_BEHIND_OTHERS = frozenset({Kind.SIDE, Kind.FLIGHT, Kind.FIELD, Kind.PART})
"""Kinds that are read only behind other words, and stand with these."""

_WITHIN_OTHERS = frozenset({Kind.SIDE, Kind.PART})
"""Kinds that are said within another element."""

_FILLER: Node = any_of("uh", "um", "ah", "er")
_BETWEEN: Node = any_of(CORRECTION, "not", "with you", "please", costs=(0.0, 1.0, 2.0, 2.0))
"""What is said between elements and is none: the word that takes back, a denial, courtesies."""


def situation(
    likely: Iterable[Expected], possible: Iterable[Expected], commands: Iterable[Command] = ()
) -> WordAutomaton:
    """The automaton of a situation: `likely` calls and answers, and `possible` ones at a price.

    The likely ones stand as sentences, element by element. The possible ones, and the elements of all of them
    in any order, are one loop: people start over and put things where they like. `commands` stand beside.
    """
    due, other = list(likely), list(possible)
    if not due and not other:
        raise ValueError("a situation needs at least one call")
    context = (due or other)[0].context
    calls = [expected for expected in due if expected.ordered and expected.slots]
    answers = [expected for expected in due if not expected.ordered and expected.slots]
    nodes = [_answer(expected) for expected in answers]
    costs = [0.0] * len(answers)
    if calls:
        nodes.append(_calls(calls, context))
        costs.append(0.0)
    elements = tuple(_in_loop(kind, context) for kind in _kinds([*due, *other]))
    loop = Many(Choice((*elements, _BETWEEN)), again=AGAIN)
    head = _head([expected for expected in other if expected.ordered], context, bare=False)
    nodes.append(Seq((Maybe(head, skip=LOOSE_ORDER - OTHER_CALL), loop)) if head else loop)
    costs.append(OTHER_CALL if head else LOOSE_ORDER)
    spoken_to_trainer = sentences(commands)
    nodes += spoken_to_trainer
    costs += [COMMAND] * len(spoken_to_trainer)
    return automaton(Choice(tuple(nodes), tuple(costs)))


def _head(calls: list[Expected], context: Context, *, bare: bool) -> Node | None:
    """Whom and who, as calls begin."""
    begin = {slot.kind: slot for expected in calls for slot in expected.slots if slot.kind in _WHOM_AND_WHO}
    parts = tuple(
        _with_filler(_slot(begin[kind], context, bare=bare)) for kind in _WHOM_AND_WHO if kind in begin
    )
    return Seq(parts) if parts else None


def _calls(calls: list[Expected], context: Context) -> Node:
    """All calls begin alike, with whom and who: said once, then what each goes on with."""
    rests = tuple(
        Seq(
            tuple(
                _with_filler(_slot(slot, context, bare=False))
                for slot in expected.slots
                if slot.kind not in _WHOM_AND_WHO and slot.kind not in _WITHIN_OTHERS
            )
        )
        for expected in calls
    )
    head = _head(calls, context, bare=True)
    return Seq((*([head] if head else []), Choice(rests)))


def _kinds(calls: list[Expected]) -> list[Kind]:
    """Every kind of element that one of the calls could carry."""
    kinds: dict[Kind, None] = {Kind.CALLSIGN: None, Kind.ACK: None}
    for expected in calls:
        for slot in expected.slots:
            kinds[slot.kind] = None
            for instead in slot.instead:
                kinds[instead.kind] = None
    return [kind for kind in kinds if kind not in _ONLY_BEHIND_OTHERS]


def _in_loop(kind: Kind, context: Context) -> Node:
    """An element as it can stand anywhere."""
    if kind is Kind.DISTANCE:
        return Seq((words_for(kind, None, context), any_of("initial", "final")))
    return words_for(kind, None, context)


def _answer(expected: Expected) -> Node:
    """An answer in its order, or with an acknowledging word in front, the callsign at either end."""
    bare = all(slot.kind is not Kind.ALTITUDE for slot in expected.slots)  # figures would run together
    nodes = [
        (slot.kind, _slot(slot, expected.context, bare=bare or slot.kind is Kind.CALLSIGN))
        for slot in expected.slots
        if slot.kind is not Kind.SIDE or slot.missing is not Severity.NONE
    ]
    callsign = next(node for kind, node in nodes if kind is Kind.CALLSIGN)
    rest = tuple(_with_filler(node) for kind, node in nodes if kind is not Kind.CALLSIGN)
    short = Maybe(words_for(Kind.ACK, None, expected.context), take=1.0)
    own = next(slot for slot in expected.slots if slot.kind is Kind.CALLSIGN)
    last = Seq((Maybe(Say(("and",)), take=3.0), _slot(own, expected.context, bare=False)))
    return Choice((Seq((_with_filler(callsign), short, *rest)), Seq((short, *rest, last))), (0.0, 0.7))


def _with_filler(node: Node) -> Node:
    return Seq((Maybe(_FILLER, take=4.0), node))


def _slot(slot: Slot, context: Context, *, bare: bool = True) -> Node:
    """The element, its rivals, or nothing; of a callsign or a runway also the figures alone, if `bare`."""
    options: list[tuple[Node, float]] = [(words_for(slot.kind, slot.say, context), 0.0)]
    if slot.kind is Kind.CALLSIGN and bare:
        options.append((bare_callsign(context), LEFT_OUT))
    if slot.kind is Kind.RUNWAY and bare:
        options.append((bare_runway, WITHOUT_ITS_WORD))
    for instead in slot.instead:
        values: tuple[str | None, ...] = tuple(sorted(instead.values)) if instead.values else (None,)
        options += [(words_for(instead.kind, value, context), ANOTHER_FORM) for value in values]
    node = Choice(tuple(n for n, _ in options), tuple(c for _, c in options))
    if slot.missing is Severity.NONE:
        return Maybe(node, take=NOT_ASKED_FOR)
    return Maybe(node, skip=LEFT_OUT)
