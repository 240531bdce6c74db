"""What is spoken in the training: calls and messages walked from the catalogue, strings, and other talk.

A text is one line: words in lower case, a comma (a word of its own) where the speaker breathes.
"""

import math
import random
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence

from phraseology.calls import CALLS, expect
from phraseology.elements import Kind
from phraseology.errors import PhraseologyError
from phraseology.expected import Context, Expected
from phraseology.numbers import DIGIT_WORDS, TEEN_VALUES, TENS_VALUES
from phraseology.parsed import World
from phraseology.phrases import AIRCRAFT_TYPES, DIRECTIONS, HESITATIONS, LETTERS, SOUND_ALIKES, values_of
from phraseology.readback import answer_to
from phraseology.replies import REPLIES, Message, message, say_message
from phraseology.situation import situation
from phraseology.standards import STANDARDS
from phraseology.wordgraph import Arc, WordAutomaton
from phraseology.words import tokens
from trainer.ears.acoustic import BACKGROUND
from trainer.ears.training import background
from trainer.ears.training.lexicon import Lexicon

CALLSIGN_WORDS = ("SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE")
POINTS = ("QUARRY", "SILO", "WEIR")
STATIONS = ("corbel tower", "wickstone tower", "corbel traffic", "wickstone traffic")

_SHARES = {
    "call": 0.38,
    "message": 0.09,
    "string": 0.12,
    "random": 0.18,
    "pair": 0.10,
    "background": 0.09,
    "mixed": 0.04,
}
"""Which kinds of text, and how much of each. Calls are situations: right and wrong ones, answers, other names."""

_DIGITS = (*DIGIT_WORDS, "nine")
_CONFUSABLE = (
    ("sable", "table", "saber", "stable", "able", "cable", "fable", "gable", "label", "staple"),
    ("nine", "five", "right", "fine", "mine", "niner", "fife"),
    ("three", "four", "two", "tree", "free", "fower"),
    ("one", "nine", "run"),
    ("left", "right"),
    ("base", "eight", "ait", "pace"),
    ("heron", "aaron", "herring", "hearing", "heroine"),
    ("topaz", "topic", "topics", "tempest"),
    ("marten", "martin", "morton", "marlin", "maarten"),
    ("adze", "odds", "adds", "ads", "add"),
    ("weir", "wear", "where", "we're", "weird"),
    ("quarry", "quarries", "corey", "query", "carry"),
    ("silo", "solo", "so", "slow"),
    ("initial", "initials", "official"),
    ("up", "down"),
    ("approved", "unable", "denied", "disapproved"),
    ("in", "not", "no"),
    ("six", "fix", "sixteen", "sixty"),
    ("clear", "cleared", "gear"),
    ("closed", "close", "clothes"),
    ("thirteen", "thirty"),
    ("fifteen", "fifty"),
    ("break", "brake", "breakout"),
    ("perch", "church"),
    ("inside", "outside", "in sight"),
    ("of", "off", "on"),
)


_NEW_NAMES = 0.3
"""How many callsigns and points are any words of the dictionary: names that nobody thought of must be heard too."""


def write_texts(count: int, seed: int, lexicon: Lexicon, dictionary: Sequence[str] = ()) -> list[str]:
    """`count` texts; the same seed, catalogue and lexicon give the same ones.

    `dictionary` are words that the lexicon of the trade does not have, to be spoken as names and at random.
    """
    rng = random.Random(seed)
    makers: dict[str, Callable[[], Iterator[str]]] = {
        "call": lambda: _calls(rng, dictionary),
        "message": lambda: _messages(rng, dictionary),
        "string": lambda: _strings(rng),
        "random": lambda: _random_words(rng, lexicon, dictionary),
        "pair": lambda: _pairs(rng, lexicon),
        "background": lambda: _background(rng),
        "mixed": lambda: _mixed(rng, lexicon),
    }
    texts: list[str] = []
    for kind, share in _SHARES.items():
        made = makers[kind]()
        texts += [next(made) for _ in range(round(count * share))]
    rng.shuffle(texts)
    return texts


def words_of(text: str) -> list[str]:
    """The words of a text, without its commas."""
    return [word for word in text.split() if word != ","]


def _breathe(words: Sequence[str], rng: random.Random, often: float = 0.12) -> str:
    parts = list(words[:1])
    for word in words[1:]:
        if rng.random() < often:
            parts.append(",")
        parts.append(word)
    return " ".join(parts)


def _rendered(text: str) -> str:
    return " , ".join(" ".join(tokens(part)) for part in text.split(",") if tokens(part))


def _digits(rng: random.Random, least: int, most: int) -> list[str]:
    return [rng.choice(_DIGITS) for _ in range(rng.randint(least, most))]


def _name(rng: random.Random, usual: Sequence[str], dictionary: Sequence[str]) -> str:
    if dictionary and rng.random() < _NEW_NAMES:
        return rng.choice(dictionary).upper()
    return rng.choice(usual)


def _context(rng: random.Random, dictionary: Sequence[str]) -> Context:
    """Somebody somewhere: every field that a call may take up is fixed in two cases of three."""

    def perhaps(value: object) -> object:
        return value if rng.random() < 0.67 else None

    name, point = _name(rng, CALLSIGN_WORDS, dictionary), _name(rng, POINTS, dictionary)
    callsign = f"{name} {rng.randint(1, 99):02d}"
    fields = {
        "intention": perhaps(rng.choice(values_of(Kind.INTENTION))),
        "point": perhaps(point),
        "altitude_ft": perhaps(rng.randrange(1000, 9000, 100)),
        "distance_nm": perhaps(rng.randint(2, 9)),
        "atis": perhaps(rng.choice(LETTERS)),
        "position": perhaps(rng.choice(values_of(Kind.POSITION))),
        "where": perhaps(f"{rng.randint(2, 25)} {rng.choice(DIRECTIONS).replace(' ', '')}"),
        "side": perhaps(rng.choice(("left", "right"))),
        "flight": perhaps(str(rng.randint(2, 4))),
        "nature": perhaps(rng.choice(values_of(Kind.NATURE))),
        "fuel_min": perhaps(rng.randint(5, 90)),
        "souls": perhaps(rng.randint(1, 4)),
        "request": rng.choice(values_of(Kind.REQUEST)),
    }
    bare = Context(
        standard=rng.choice(list(STANDARDS.values())),
        world=World(frozenset({*CALLSIGN_WORDS, name}), frozenset({*POINTS, point})),
        callsign=callsign,
        runway=f"{rng.randint(1, 36)}{rng.choice(('', '', '', 'L', 'R'))}",
        station=rng.choice(STATIONS),
    )
    return bare.with_(**{name: value for name, value in fields.items() if value is not None})


def _calls(rng: random.Random, dictionary: Sequence[str]) -> Iterator[str]:
    """Model calls, and what their situations make plausible, right and wrong, likelier where it is cheap."""
    while True:
        context = _context(rng, dictionary)
        names = rng.sample(sorted(CALLS), 4)
        asked = _any_message(rng, context)
        try:
            likely: list[Expected] = [expect(names[0], context)]
            if asked is not None:
                likely.append(answer_to(asked, context))
            possible = [expect(name, context) for name in names[1:]]
            graph = situation(likely, possible)
        except (PhraseologyError, KeyError, ValueError):
            continue
        for expected in likely:
            if expected.model_call:
                yield _rendered(expected.model_call)
        for words in _walks(graph, 12, rng):
            if words and len(words) <= 22:
                yield _breathe(words, rng)


def _walks(graph: WordAutomaton, count: int, rng: random.Random) -> Iterator[list[str]]:
    """Random ways through the automaton; a price counts for two thirds, so that the rare is not too rare."""
    leaving: dict[int, list[Arc]] = defaultdict(list)
    for arc in graph.arcs:
        leaving[arc.source].append(arc)
    weights = {state: [math.exp(-arc.cost * 0.67) for arc in arcs] for state, arcs in leaving.items()}
    for _ in range(count):
        words, state = [], 0
        while state != graph.final:
            (arc,) = rng.choices(leaving[state], weights[state])
            state = arc.target
            if arc.word is not None:
                words.append(arc.word)
        yield words


def _field_values(rng: random.Random) -> dict[Kind, str]:
    """A value for every kind of element that a controller's message can carry."""
    name = f"{rng.choice(CALLSIGN_WORDS)} {rng.randint(1, 99):02d}"
    aircraft = rng.choice((*AIRCRAFT_TYPES.values(), name))
    place = rng.choice(("initial", "initial 3", *values_of(Kind.POSITION)))
    heading = rng.randrange(10, 370, 10)
    wind = f"{heading:03d}/{rng.randint(2, 35)}{rng.choice(('', '', f'/{rng.randint(20, 45)}'))}"
    values: dict[Kind, str] = {
        kind: rng.choice(values_of(kind))
        for kind in Kind
        if values_of(kind) and kind not in (Kind.CALLSIGN, Kind.STATION)
    }
    return values | {
        Kind.RUNWAY: f"{rng.randint(1, 36)}{rng.choice(('', '', 'L', 'R'))}",
        Kind.WIND: rng.choice((wind, wind, "calm")),
        Kind.ALTITUDE: str(rng.randrange(1000, 9000, 100)),
        Kind.ALTIMETER: str(rng.randint(2800, 3099)),
        Kind.QNH: str(rng.randint(960, 1040)),
        Kind.HEADING: f"{heading:03d}",
        Kind.SPEED: str(rng.randrange(120, 360, 10)),
        Kind.FREQUENCY: f"{rng.randint(118, 136)}.{rng.randint(0, 9)}",
        Kind.TIME: f"{rng.randint(0, 59):02d}",
        Kind.SEQUENCE: str(rng.randint(2, 6)),
        Kind.FOLLOW: f"{aircraft} {place}" if rng.random() < 0.7 else aircraft,
        Kind.TRAFFIC_INFORMATION: f"{aircraft} {place}",
        Kind.REPORT: rng.choice((*POINTS, place)),
        Kind.HOLD: rng.choice(POINTS),
        Kind.UNAVAILABLE: rng.choice(POINTS),
        Kind.ATIS: rng.choice(LETTERS),
        Kind.SIDE: rng.choice(("left", "right")),
        Kind.CONDITION: rng.choice(("after traffic initial", f"after {name}", "at departure_end")),
        Kind.BREAK: rng.choice(("in 5", "midfield", "departure_end", "approved")),
        Kind.READABILITY: str(rng.randint(1, 5)),
    }


def _any_message(rng: random.Random, context: Context) -> Message | None:
    name = rng.choice(sorted(REPLIES))
    values = _field_values(rng)
    optional = {part.kind for part in REPLIES[name].parts if part.optional and rng.random() < 0.5}
    fields = {kind: value for kind, value in values.items() if kind not in optional}
    try:
        return message(name, context.callsign, fields)
    except (PhraseologyError, KeyError, ValueError):
        return None


def _messages(rng: random.Random, dictionary: Sequence[str]) -> Iterator[str]:
    """What the controller says: people read it back in his words."""
    while True:
        context = _context(rng, dictionary)
        said = _any_message(rng, context)
        try:
            if said is not None:
                yield _rendered(say_message(said, context.standard))
        except (PhraseologyError, KeyError, ValueError):
            continue


def _strings(rng: random.Random) -> Iterator[str]:
    groups = (*TEEN_VALUES, *TENS_VALUES)
    while True:
        match rng.randrange(5):
            case 0:
                yield _breathe([rng.choice(LETTERS) for _ in range(rng.randint(1, 6))], rng, 0.3)
            case 1:
                yield _breathe([rng.choice((*_DIGITS, *groups)) for _ in range(rng.randint(1, 6))], rng, 0.3)
            case _:
                yield _breathe(_digits(rng, 1, 8), rng, 0.2)


def _random_words(rng: random.Random, lexicon: Lexicon, dictionary: Sequence[str]) -> Iterator[str]:
    """Every word in turn, in any company: no word is left out, and none is known by its neighbours alone. As many
    words of the dictionary are among them."""
    words = [word for word in lexicon.ways if word != BACKGROUND]
    foreign = list(dictionary)
    while True:
        rng.shuffle(words)
        rng.shuffle(foreign)
        mixed = words + foreign[: len(words)]
        rng.shuffle(mixed)
        here = 0
        while here < len(mixed):
            size = rng.randint(1, 8)
            yield _breathe(mixed[here : here + size], rng, 0.15)
            here += size


def _pairs(rng: random.Random, lexicon: Lexicon) -> Iterator[str]:
    """Two texts that differ in one word that sounds like another, in a short call or alone."""
    sets = [
        [word for word in words if all(part in lexicon for part in word.split())]
        for words in (*_CONFUSABLE, *((word.lower(), *alike) for word, alike in SOUND_ALIKES.items()))
    ]
    sets = [words for words in sets if len(words) > 1]
    calls = _calls(rng, ())
    while True:
        if rng.random() < 0.5:
            name = rng.choice(("sable", "sable", "heron", "marten", "topaz", "adze"))
            tail = rng.choice(("gear down", "initial", "request closed", "full stop", "going around", ""))
            base = [name, *_digits(rng, 2, 2), *tail.split()]
        else:
            base = words_of(next(calls))
        alike = {word: options for options in sets for word in options if word in base}
        digits = [place for place, word in enumerate(base) if word in _DIGITS]
        places = [place for place, word in enumerate(base) if word in alike]
        if not places and not digits:
            yield _breathe(rng.choice(sets), rng, 0.7)
            continue
        yield _breathe(base, rng)
        other = list(base)
        if digits and (not places or rng.random() < 0.4):
            other[rng.choice(digits)] = rng.choice(_DIGITS)
        else:
            place = rng.choice(places)
            other[place] = rng.choice(alike[base[place]])
        yield _breathe(" ".join(other).split(), rng)


def _background(rng: random.Random) -> Iterator[str]:
    while True:
        if rng.random() < 0.3:
            yield rng.choice(background.SENTENCES)
        else:
            parts = (background.SUBJECTS, background.DOINGS, background.THINGS, background.ENDINGS)
            kept = [rng.choice(part) for part in parts if rng.random() < 0.85]
            yield _breathe(" ".join(kept or ["hello there"]).split(), rng, 0.05)


def _mixed(rng: random.Random, lexicon: Lexicon) -> Iterator[str]:
    """A call with foreign words in it, and hesitation."""
    calls, talk = _calls(rng, ()), _background(rng)
    while True:
        call, other = next(calls).split(), words_of(next(talk))[: rng.randint(1, 4)]
        here = rng.randrange(len(call) + 1)
        extra = [rng.choice(sorted(HESITATIONS))] if rng.random() < 0.5 else other
        yield " ".join((*call[:here], *extra, *call[here:]))
