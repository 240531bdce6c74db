"""What may plausibly be heard here: right calls, wrong calls, and the words between them.

A recogniser that is offered only the right answer hears it in anything. So every element of every
call that could be made here stands beside its wrong values, other digits, other names, other words
for the same thing, and may be left out or come in another order. Prices are negative natural
logarithms; they are set by hand and held by the hearing tests.
"""

from collections.abc import Iterable

from phraseology.elements import Callsign, Kind, Severity
from phraseology.expected import Context, Expected, Slot
from phraseology.numbers import DIGIT_WORDS, TENS_VALUES
from phraseology.phrases import AIRCRAFT_TYPES, CORRECTION, DIRECTIONS, LETTERS, PHRASES, SOUND_ALIKES
from phraseology.render import say
from phraseology.wordgraph import Choice, Many, Maybe, Node, Say, Seq, WordAutomaton, automaton
from phraseology.words import tokens

OTHER_VALUE = 2.0
"""Price of a value that is not the right one: about one in seven."""
ANOTHER_FORM = 0.7
CARELESS_FORM = 1.5
LEFT_OUT = 3.0
NOT_ASKED_FOR = 1.5
OTHER_CALL = 2.0
LOOSE_ORDER = 4.0
SOUND_ALIKE = 5.0
"""Price of a word that is nobody's callsign and sounds like one's own; at 3 a voice that the model was never
trained on was heard as "table" in every third "sable"."""

_WHOM_AND_WHO = (Kind.STATION, Kind.CALLSIGN)


_DIGIT: Node = Choice(
    tuple(Say((word,)) for word in (*DIGIT_WORDS, "nine", "tree", "fower", "fife", "ait", "oh")),
    (0.0,) * 10 + (0.7, 0.7, 1.0, 0.7, 1.0, 2.0),
)
_FILLER: Node = Choice(tuple(Say((word,)) for word in ("uh", "um", "ah", "er")))


def situation(likely: Iterable[Expected], possible: Iterable[Expected]) -> WordAutomaton:
    """The automaton of a situation: `likely` calls and answers, and `possible` ones at a price."""
    priced = [(expected, 0.0) for expected in likely] + [(expected, OTHER_CALL) for expected in possible]
    if not priced:
        raise ValueError("a situation needs at least one call")
    context = priced[0][0].context
    calls = [(expected, cost) for expected, cost in priced if expected.ordered and expected.slots]
    answers = [(expected, cost) for expected, cost in priced if not expected.ordered and expected.slots]
    nodes = [_answer(expected) for expected, _ in answers]
    costs = [cost for _, cost in answers]
    if calls:
        nodes.append(_calls(calls, context))
        costs.append(0.0)
    # Beside the sentences, any order of their phrases: people start over and put things where they like.
    loose = Many(Choice(tuple(_words(kind, None, context) for kind in _kinds(priced))), again=2.0)
    return automaton(Choice((*nodes, loose), (*costs, LOOSE_ORDER)))


def _calls(calls: list[tuple[Expected, float]], context: Context) -> Node:
    """All calls begin alike, with whom and who: said once, then what each goes on with."""
    begin = {
        slot.kind: slot for expected, _ in calls for slot in expected.slots if slot.kind in _WHOM_AND_WHO
    }
    rests = tuple(
        Seq(
            tuple(
                _with_filler(_slot(slot, context))
                for slot in expected.slots
                if slot.kind not in _WHOM_AND_WHO
            )
        )
        for expected, _ in calls
    )
    head = tuple(_with_filler(_slot(begin[kind], context)) for kind in _WHOM_AND_WHO if kind in begin)
    return Seq((*head, Choice(rests, tuple(cost for _, cost in calls))))


def _kinds(priced: list[tuple[Expected, float]]) -> list[Kind]:
    """Every kind of element that one of the calls could carry."""
    kinds: dict[Kind, None] = {Kind.CALLSIGN: None, Kind.ACK: None}
    for expected, _ in priced:
        for slot in expected.slots:
            kinds[slot.kind] = None
            for instead in slot.instead:
                kinds[instead.kind] = None
    return list(kinds)


def _answer(expected: Expected) -> Node:
    """An answer in its order, or with an acknowledging word in front, the callsign at either end."""
    nodes = [(slot.kind, _slot(slot, expected.context)) for slot in expected.slots]
    callsign = next(node for kind, node in nodes if kind is Kind.CALLSIGN)
    rest = tuple(_with_filler(node) for kind, node in nodes if kind is not Kind.CALLSIGN)
    short = Maybe(_words(Kind.ACK, None, expected.context), take=1.0)
    last = Seq((Maybe(Say(("and",)), take=3.0), callsign))
    return Choice((Seq((_with_filler(callsign), short, *rest)), Seq((short, *rest, last))), (0.0, 0.7))


def _with_filler(node: Node) -> Node:
    return Seq((Maybe(_FILLER, take=4.0), node))


def _slot(slot: Slot, context: Context) -> Node:
    options: list[tuple[Node, float]] = [(_words(slot.kind, slot.say, context), 0.0)]
    for instead in slot.instead:
        values: tuple[str | None, ...] = tuple(sorted(instead.values)) if instead.values else (None,)
        options += [(_words(instead.kind, value, context), ANOTHER_FORM) for value in values]
    node = Choice(tuple(n for n, _ in options), tuple(c for _, c in options))
    if slot.missing is Severity.NONE:
        return Maybe(node, take=NOT_ASKED_FOR)
    return Maybe(node, skip=LEFT_OUT)


def _exactly(text: str) -> Node:
    return Say(tokens(text))


def _digits(count: int) -> Node:
    return Seq((_DIGIT,) * count)


def _words(kind: Kind, right: str | None, context: Context) -> Node:
    """Every way to say an element of this kind: the right value first, the others at a price."""
    match kind:
        case Kind.CALLSIGN:
            return _callsign(right or context.callsign, context)
        case Kind.STATION:
            return Choice((_exactly(context.station), Say(("tower",))), (0.0, 1.0))
        case Kind.POINT:
            return Seq(
                (Maybe(Choice((Say(("over",)), Say(("at",)))), take=2.0), _names(context.world.points, right))
            )
        case Kind.RUNWAY:
            return _numbered(right, kind, context, Seq((Maybe(Say(("runway",)), skip=2.0), _digits(2))))
        case Kind.ALTIMETER:
            return _numbered(right, kind, context, Seq((Maybe(Say(("altimeter",)), skip=0.7), _digits(4))))
        case Kind.ALTITUDE:
            hundreds = Maybe(Seq((_DIGIT, Say(("hundred",)))))
            any_altitude = Seq((_DIGIT, Say(("thousand",)), hundreds, Maybe(Say(("feet",)), take=1.5)))
            at = Maybe(Choice((Say(("at", "or", "above")), Say(("at",)))), take=0.7)
            return Seq((at, _numbered(right, kind, context, any_altitude)))
        case Kind.WHERE:
            miles = Choice((_DIGIT, _digits(2), Say(("ten",)), Say(("eleven",)), Say(("twelve",))))
            directions = Choice(tuple(Say(tuple(text.split())) for text in DIRECTIONS))
            any_place = Seq((miles, Choice((Say(("miles",)), Say(("mile",)))), directions))
            return _numbered(right, kind, context, any_place)
        case Kind.DISTANCE:
            return _numbered(right, kind, context, Seq((_DIGIT, Say(("mile",)))))
        case Kind.SEQUENCE:
            return Seq((Say(("number",)), _DIGIT))
        case Kind.ATIS:
            letters = Choice(tuple(Say((letter,)) for letter in LETTERS))
            lead = Choice(
                (Say(("information",)), Say(("with", "information")), Say(("with",))), (0.0, 1.0, 1.0)
            )
            any_letter = Choice((Seq((lead, letters)), letters, Say(("have", "numbers"))), (0.0, 2.0, 1.0))
            return _numbered(right, kind, context, any_letter)
        case Kind.REPORT:
            return _report(right, context)
        case Kind.FOLLOW:
            return _follow(right, context)
        case Kind.WIND:
            return Say(("wind", "calm"))
        case _:
            return _fixed(kind, right)


def _fixed(kind: Kind, right: str | None) -> Node:
    options: list[Node] = []
    costs: list[float] = []
    for phrase in PHRASES:
        if phrase.kind is not kind:
            continue
        value_cost = 0.0 if right in (None, phrase.value) else OTHER_VALUE
        for forms, form_cost in (
            (phrase.forms[:1], 0.0),
            (phrase.forms[1:], ANOTHER_FORM),
            (phrase.careless, CARELESS_FORM),
        ):
            for form in forms:
                options.append(Say(tuple(form.split())))
                costs.append(value_cost + form_cost)
    return Choice(tuple(options), tuple(costs))


def _numbered(right: str | None, kind: Kind, context: Context, any_value: Node) -> Node:
    """The right value as the model says it, and any other number in its place."""
    if right is None:
        return any_value
    return Choice((_exactly(say(kind, right, context.standard)), any_value), (0.0, OTHER_VALUE))


def _names(names: Iterable[str], right: str | None) -> Node:
    ordered = sorted(names)
    return Choice(
        tuple(Say((name.lower(),)) for name in ordered),
        tuple(0.0 if right in (None, name) else OTHER_VALUE for name in ordered),
    )


def _callsign(right: str, context: Context) -> Node:
    """Own callsign; its word with any figures; other names with any figures; halves of it; a correction."""
    own = Callsign.of(right)
    word = Say((own.word.lower(),))
    figures = _digits(len(own.figures))
    others = {name.lower() for name in context.world.callsign_words} - {own.word.lower()}
    other_names = Choice(tuple(Say((name,)) for name in sorted(others)))
    sound_alikes = [Say((name,)) for name in SOUND_ALIKES.get(own.word, ())]
    tens = Choice(tuple(Say((name,)) for name in TENS_VALUES))
    alike = [Seq((Choice(tuple(sound_alikes)), figures))] if sound_alikes else []
    return Choice(
        (
            *alike,
            _exactly(own.spoken),
            Seq((word, figures)),
            Seq((other_names, figures)),
            Seq((word, tens, Maybe(_DIGIT))),
            word,
            figures,
            Seq((word, figures, Say((CORRECTION,)), Maybe(word), figures)),
        ),
        (*(SOUND_ALIKE for _ in alike), 0.0, OTHER_VALUE, 3.0, 2.5, LEFT_OUT, LEFT_OUT, 4.0),
    )


def _report(right: str | None, context: Context) -> Node:
    points = _names(context.world.points, right)
    initial = Seq((Maybe(Seq((_DIGIT, Say(("mile",)))), skip=1.0), Say(("initial",))))
    places = _fixed(Kind.POSITION, None if right is None else right.partition(" ")[0])
    exact = (
        [] if right is None else [_exactly(say(Kind.REPORT, right, context.standard).removeprefix("report "))]
    )
    options = [*exact, points, initial, places]
    costs = [0.0] * len(exact) + [0.7, OTHER_VALUE, OTHER_VALUE]
    lead = Choice((Say(("report",)), Say(("reporting",)), Say(("will", "report"))), (0.0, 1.0, 1.0))
    return Seq((Maybe(lead, skip=0.7), Choice(tuple(options), tuple(costs))))


def _follow(right: str | None, context: Context) -> Node:
    """Whom the aircraft follows, and where that one is; the place is mostly left out."""
    kinds = Choice(tuple(Say(tuple(words.split())) for words in AIRCRAFT_TYPES))
    names = Choice(tuple(Say((name.lower(),)) for name in sorted(context.world.callsign_words)))
    whom = Choice((Seq((Maybe(Say(("the",)), take=1.5), kinds)), Seq((names, _digits(2)))), (0.0, 1.0))
    at = Choice(tuple(Say(tuple(words.split())) for words in ("on", "in the", "at the", "at")))
    place = Seq((Maybe(at), _fixed(Kind.POSITION, None)))
    follow = Choice((Say(("following",)), Say(("follow",))))
    any_traffic = Seq((follow, Maybe(whom), Maybe(place, take=2.0)))
    return _numbered(right, Kind.FOLLOW, context, any_traffic)
