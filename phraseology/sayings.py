"""Every way to say an element of a call: the right value first, its rivals at a price.

Rivals are other values of the kind, other digits, other names, other words for the same thing, careless
forms. What no reader could read ("zero mile initial", "runway six two") is left out.
"""

from collections.abc import Callable, Iterable

from phraseology.elements import Callsign, Kind
from phraseology.expected import Context
from phraseology.numbers import DIGIT_WORDS, TENS_VALUES
from phraseology.phrases import (
    AIRCRAFT_TYPES,
    CORRECTION,
    DIRECTIONS,
    LETTERS,
    PHRASES,
    SIDED,
    SIDES,
    SOUND_ALIKES,
    TURNS,
)
from phraseology.render import say
from phraseology.wordgraph import Choice, Maybe, Node, Say, Seq
from phraseology.words import tokens

OTHER_VALUE = 2.0
"""Price of a value that is not the right one: about one in seven."""
ANOTHER_FORM = 0.7
CARELESS_FORM = 1.5
A_SIDE = 1.0
HALF_A_CALLSIGN = 3.0
A_FIGURE_TOO_MANY = 3.0
A_FIGURE_TOO_FEW = 4.0
SOUND_ALIKE = 1.0
"""Price of a word that is nobody's callsign and sounds like one's own. With 5 and 1, of 18 who said "table"
in noise 11 and 4 were taken for "sable"; of 89 right calls 79 and 77 were accepted, the two asked again."""

_WAYS = {"three": (("tree", 0.7),), "four": (("fower", 1.0),), "five": (("fife", 0.7),),
         "eight": (("ait", 1.0),), "niner": (("nine", 0.7),), "zero": (("oh", 2.0),)}  # fmt: skip


def _one_of(words: Iterable[str]) -> Node:
    """One digit, in each of the ways to say it."""
    priced = [entry for word in words for entry in ((word, 0.0), *_WAYS.get(word, ()))]
    return Choice(tuple(Say((word,)) for word, _ in priced), tuple(cost for _, cost in priced))


_DIGIT = _one_of(DIGIT_WORDS)
_NONZERO = _one_of(DIGIT_WORDS[1:])
_ZERO = _one_of(DIGIT_WORDS[:1])


def _digits(count: int) -> Node:
    return Seq((_DIGIT,) * count)


def _exactly(text: str) -> Node:
    return Say(tokens(text))


def any_of(*options: str, costs: tuple[float, ...] = ()) -> Node:
    return Choice(tuple(Say.of(option) for option in options), costs)


def words_for(kind: Kind, right: str | None, context: Context) -> Node:
    """Every way to say an element of this kind: the right value first, the others at a price."""
    make = _NODES.get(kind)
    if make is not None:
        return make(right, context)
    if kind is Kind.QUERY:
        return _query(right, context)
    any_number = _NUMBERS.get(kind)
    if any_number is not None:
        return _numbered(right, kind, context, any_number)
    return _fixed(kind, right, context)


_MINUTES = Seq((_NONZERO, _DIGIT, Say(("minutes",)), Maybe(any_of("fuel", "of fuel"), skip=1.0)))
bare_runway: Node = Choice(
    (
        Seq((Choice((_one_of(DIGIT_WORDS[1:3]),)), _DIGIT)),
        Seq((_one_of(DIGIT_WORDS[3:4]), _one_of(DIGIT_WORDS[:7]))),
        Seq((_ZERO, _NONZERO)),
    )
)
"""Two figures, 01 to 36."""

_INCHES = Seq(
    (
        Choice(
            (
                Seq((_one_of(DIGIT_WORDS[2:3]), _one_of(DIGIT_WORDS[8:10]))),
                Seq((_one_of(DIGIT_WORDS[3:4]), _one_of(DIGIT_WORDS[0:2]))),
            )
        ),
        _digits(2),
    )
)
"""28.00 to 31.99 inches, which are an altimeter setting without the word too."""

_PRESSURE = Choice(
    (
        Seq((any_of("one zero", "one oh", costs=(0.0, 2.0)), _digits(2))),
        Seq((any_of("niner", "nine"), _digits(2))),
    )
)
"""900 to 1099 hectopascals."""

_NUMBERS: dict[Kind, Node] = {
    Kind.RUNWAY: Seq((Say(("runway",)), bare_runway, Maybe(any_of("left", "right", "center"), take=2.0))),
    Kind.ALTIMETER: Choice((Seq((Say(("altimeter",)), _digits(4))), _INCHES), (0.0, 0.7)),
    Kind.QNH: Seq((Say(("qnh",)), _PRESSURE, Maybe(Say(("hectopascals",)), take=1.0))),
    Kind.HEADING: Seq((Say(("heading",)), _digits(3))),
    Kind.SPEED: Seq((Maybe(Say(("speed",)), skip=0.7), _digits(3), Say(("knots",)))),
    Kind.FREQUENCY: Seq(
        (_digits(3), any_of("point", "decimal"), _DIGIT, Maybe(Seq((_DIGIT, Maybe(_DIGIT)))))
    ),
    Kind.TIME: Seq((Say(("time",)), _digits(2), Maybe(_digits(2)))),
    Kind.WHERE: Seq(
        (
            Choice((_NONZERO, Seq((_NONZERO, _DIGIT)), any_of("ten", "eleven", "twelve"))),
            any_of("miles", "mile"),
            any_of(*DIRECTIONS),
        )
    ),
    Kind.DISTANCE: Seq((_NONZERO, Say(("mile",)))),
    Kind.FUEL: Choice((_MINUTES, Seq((Say(("fuel",)), _MINUTES)), any_of("minimum fuel", "min fuel"))),
    Kind.SOULS: Seq((_NONZERO, any_of("souls on board", "soul on board", "on board", costs=(0.0, 0.7, 0.7)))),
}
"""Any value of a kind that is a number."""


def _station(right: str | None, context: Context) -> Node:
    return Choice((_exactly(context.station), Say(("tower",))), (0.0, 1.0))


def _point(right: str | None, context: Context) -> Node:
    return Seq((Maybe(any_of("over", "at"), take=2.0), _names(context.world.points, right)))


def _hold(right: str | None, context: Context) -> Node:
    return Seq((any_of("hold", "holding"), Maybe(any_of("at", "over")), _names(context.world.points, right)))


def _altitude(right: str | None, context: Context) -> Node:
    hundreds = Maybe(Seq((_NONZERO, Say(("hundred",)))))
    any_altitude = Seq((_NONZERO, Say(("thousand",)), hundreds, Maybe(Say(("feet",)), take=1.5)))
    at = Maybe(any_of("at or above", "at", "maintain", costs=(0.0, 0.0, 1.0)), take=0.7)
    return Seq((at, _numbered(right, Kind.ALTITUDE, context, any_altitude)))


def _atis(right: str | None, context: Context) -> Node:
    letters = Choice(tuple(Say((letter,)) for letter in LETTERS))
    lead = any_of("information", "with information", "with", costs=(0.0, 1.0, 1.0))
    any_letter = Choice((Seq((lead, letters)), letters, Say(("have", "numbers"))), (0.0, 2.0, 1.0))
    return _numbered(right, Kind.ATIS, context, any_letter)


def _side(right: str | None, context: Context) -> Node:
    lead = Maybe(any_of("turn", "make", "turning", "making"), take=0.7)
    wrong = {None: (0.0, 0.0), "left": (0.0, OTHER_VALUE), "right": (OTHER_VALUE, 0.0)}[right]
    return Seq((lead, any_of("left", "right", costs=wrong)))


def _flight(right: str | None, context: Context) -> Node:
    return Seq((Say(("flight",)), Maybe(Seq((Say(("of",)), _NONZERO)))))


def _part(right: str | None, context: Context) -> Node:
    items = any_of("runway", "altimeter", "wind", "altitude", "point", "heading", "frequency", "information")
    lead = any_of("all after", "all before", "word after", "word before", costs=(0.0, 0.7, 1.5, 1.5))
    return Choice((items, Seq((lead, items))))


def _query(right: str | None, context: Context) -> Node:
    """A question; "say again" with the part that is to be said again."""
    part = Seq((Say(("say", "again")), _part(None, context)))
    price = 1.0 if right in (None, "say_again") else OTHER_VALUE + 1.0
    return Choice((_fixed(Kind.QUERY, right, context), part), (0.0, price))


def _condition(right: str | None, context: Context) -> Node:
    """When an approval holds: behind somebody, or at a place."""
    places = Seq((Maybe(any_of("on", "in the", "at the", "on the")), _fixed(Kind.POSITION, None, context)))
    behind = Seq((any_of("after", "behind"), _aircraft(context), Maybe(places)))
    at = Seq((Say(("at",)), Maybe(Say(("the",)), take=0.7), any_of("departure end", "midfield")))
    return _numbered(right, Kind.CONDITION, context, Choice((behind, at)))


def _field(right: str | None, context: Context) -> Node:
    return _exactly(context.world.field_name)


def _readability(right: str | None, context: Context) -> Node:
    return Choice(
        (
            _fixed(Kind.READABILITY, None, context),
            Seq((any_of("readability", "read you"), any_of(*DIGIT_WORDS[1:6]))),
        )
    )


def _break(right: str | None, context: Context) -> Node:
    in_seconds = Seq((any_of("break in", "breaking in"), _NONZERO, Maybe(_DIGIT), Say(("seconds",))))
    if right is not None and right.startswith("in "):
        exact = _exactly(say(Kind.BREAK, right, context.standard))
        return Choice((exact, in_seconds, _fixed(Kind.BREAK, None, context)), (0.0, OTHER_VALUE, OTHER_VALUE))
    return Choice((_fixed(Kind.BREAK, right, context), in_seconds), (0.0, OTHER_VALUE))


def _wind(right: str | None, context: Context) -> Node:
    speed = Seq((Maybe(Say(("at",))), _DIGIT, Maybe(_DIGIT)))
    return Seq((Say(("wind",)), Choice((Say(("calm",)), Seq((_digits(3), speed))))))


def _fixed(kind: Kind, right: str | None, context: Context) -> Node:
    options: list[Node] = []
    costs: list[float] = []
    for phrase in PHRASES:
        if phrase.kind is not kind:
            continue
        value_cost = 0.0 if right in (None, phrase.value) else OTHER_VALUE
        own = context.standard.words.get((kind, phrase.value))
        first = own[:1] if own else phrase.forms[:1]
        for forms, form_cost in (
            (first, 0.0),
            (tuple(form for form in phrase.forms if form not in first), ANOTHER_FORM),
            (tuple(form for form in phrase.careless if form not in first), CARELESS_FORM),
        ):
            for form in forms:
                options.append(_with_side(form, kind))
                costs.append(value_cost + form_cost)
    return Choice(tuple(options), tuple(costs))


def _with_side(form: str, kind: Kind) -> Node:
    """The form, with a side in front of the word that turns where the trade may put one."""
    words = form.split()
    turning = next((place for place, word in enumerate(words) if word in TURNS and kind in SIDED), None)
    if turning is None or SIDES & set(words):
        return Say(tuple(words))
    a_side = Maybe(any_of("left", "right"), take=A_SIDE)
    before = (Say(tuple(words[:turning])),) if turning else ()
    return Seq((*before, a_side, Say(tuple(words[turning:]))))


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
    """Own callsign; other figures, names; halves; a figure more or less; taken back."""
    own = Callsign.of(right)
    word = Say((own.word.lower(),))
    count = len(own.figures)
    figures = _digits(count)
    others = {name.lower() for name in context.world.callsign_words} - {own.word.lower()}
    other_names = Choice(tuple(Say((name,)) for name in sorted(others)))
    tens = Choice(tuple(Say((name,)) for name in TENS_VALUES))
    ways: list[tuple[Node, float]] = [
        (_exactly(own.spoken), 0.0),
        (Seq((word, figures)), OTHER_VALUE),
        (Seq((other_names, figures)), 3.0),
        (Seq((word, tens, Maybe(_NONZERO))), 2.5),
        (word, HALF_A_CALLSIGN),
        (Seq((_exactly(own.spoken), _NONZERO)), A_FIGURE_TOO_MANY),
        (Seq((word, figures, Say((CORRECTION,)), Maybe(word), figures)), 4.0),
    ]
    if count > 1:
        ways.append((Seq((word, _digits(count - 1))), A_FIGURE_TOO_FEW))
    if own.word in SOUND_ALIKES:
        ways.append((Seq((any_of(*SOUND_ALIKES[own.word]), figures)), SOUND_ALIKE))
    return Choice(tuple(node for node, _ in ways), tuple(cost for _, cost in ways))


def _report(right: str | None, context: Context) -> Node:
    points = _names(context.world.points, right)
    measured = Seq((Maybe(Seq((_NONZERO, Say(("mile",)))), skip=1.0), any_of("initial", "final")))
    places = _fixed(Kind.POSITION, None if right is None else right.partition(" ")[0], context)
    exact = (
        [] if right is None else [_exactly(say(Kind.REPORT, right, context.standard).removeprefix("report "))]
    )
    options = [*exact, points, measured, places]
    costs = [0.0] * len(exact) + [0.7, OTHER_VALUE, OTHER_VALUE]
    lead = any_of("report", "reporting", "will report", costs=(0.0, 1.0, 1.0))
    return Seq((Maybe(lead, skip=0.7), Choice(tuple(options), tuple(costs))))


def _aircraft(context: Context) -> Node:
    """Another aircraft by its type or its callsign."""
    kinds = Seq((Maybe(Say(("the",)), take=1.5), any_of(*AIRCRAFT_TYPES)))
    names = any_of(*sorted(name.lower() for name in context.world.callsign_words))
    return Choice((kinds, Seq((names, _digits(2)))), (0.0, 1.0))


def _follow(right: str | None, context: Context) -> Node:
    """Whom the aircraft follows, and where that one is; the place is mostly left out."""
    at = any_of("on", "in the", "at the", "at")
    place = Seq((Maybe(at), _fixed(Kind.POSITION, None, context)))
    any_traffic = Seq((any_of("following", "follow"), Maybe(_aircraft(context)), Maybe(place, take=2.0)))
    return _numbered(right, Kind.FOLLOW, context, any_traffic)


def bare_callsign(context: Context) -> Node:
    """One's own figures without the word: only where no other callsign is said."""
    return _digits(len(Callsign.of(context.callsign).figures))


def _own(right: str | None, context: Context) -> Node:
    return _callsign(right or context.callsign, context)


_NODES: dict[Kind, Callable[[str | None, Context], Node]] = {
    Kind.CALLSIGN: _own,
    Kind.STATION: _station,
    Kind.POINT: _point,
    Kind.HOLD: _hold,
    Kind.ALTITUDE: _altitude,
    Kind.SEQUENCE: lambda right, context: Seq((Say(("number",)), _NONZERO)),
    Kind.ATIS: _atis,
    Kind.REPORT: _report,
    Kind.FOLLOW: _follow,
    Kind.WIND: _wind,
    Kind.SIDE: _side,
    Kind.FLIGHT: _flight,
    Kind.PART: _part,
    Kind.CONDITION: _condition,
    Kind.FIELD: _field,
    Kind.READABILITY: _readability,
    Kind.BREAK: _break,
}
"""How the kinds are said that are neither a number alone nor a phrase of the table."""
