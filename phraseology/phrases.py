"""The fixed phrases of the trade: which words say which element.

Data. The first form of a value is the model form, which `render` uses; the others are understood.
Forms behind `careless` are understood too, but are not how the trade says it and cost a minor point.
"""

from dataclasses import dataclass

from phraseology.elements import Kind


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


LETTERS = _words(
    "alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar papa"
    " quebec romeo sierra tango uniform victor whiskey xray yankee zulu"
)
"""ICAO Annex 10 vol. II 5.2.1.3 spelling alphabet, one spelling a letter."""

DIRECTIONS = (
    "north west",
    "north east",
    "south west",
    "south east",
    "north",
    "south",
    "east",
    "west",
)

AIRCRAFT_TYPES = {
    "jet trainer": "jet_trainer",
    "turboprop trainer": "turboprop_trainer",
    "turboprop": "turboprop_trainer",
    "fast jet": "fast_jet",
    "trainer": "trainer",
    "jet": "jet",
    "traffic": "traffic",
    "aircraft": "traffic",
}


@dataclass(frozen=True)
class Phrase:
    kind: Kind
    value: str
    forms: tuple[str, ...]
    careless: tuple[str, ...] = ()


def _p(kind: Kind, value: str, forms: str, careless: str = "") -> Phrase:
    return Phrase(kind, value, _split(forms), _split(careless))


def _split(forms: str) -> tuple[str, ...]:
    return tuple(form.strip() for form in forms.split("|") if form.strip())


_INTENTIONS = (
    ("touch_and_go", "touch and go", ""),
    ("stop_and_go", "stop and go", ""),
    ("low_approach", "low approach", "low pass"),
    ("option", "the option | option", ""),
    ("full_stop", "full stop | to land", "land | landing"),
)

_CLEARED = (
    ("touch_and_go", "cleared touch and go | cleared for touch and go | cleared for a touch and go"),
    ("stop_and_go", "cleared stop and go | cleared for stop and go"),
    ("low_approach", "cleared low approach | cleared for low approach | cleared for a low approach"),
    ("option", "cleared for the option | cleared the option | cleared option | cleared for option"),
    ("full_stop", "cleared to land | cleared full stop | cleared for full stop | cleared land"),
)

PHRASES: tuple[Phrase, ...] = (
    *(_p(Kind.INTENTION, value, forms, careless) for value, forms, careless in _INTENTIONS),
    *(
        _p(
            Kind.CLEARANCE,
            value,
            forms,
            forms.replace("cleared", "clear") + " | " + forms.replace("cleared", "clearing"),
        )
        for value, forms in _CLEARED
    ),
    # Gear: the honest forms. "In transit" is permitted (CNATRA P-806); it never becomes "down".
    _p(
        Kind.GEAR,
        "down",
        "gear down | gear down and locked | gear down locked | gear down three down and locked"
        " | gear three down and locked | three down and locked | down and locked | gear is down"
        " | gear is down and locked | wheels down | wheels down and locked | wheels are down",
        "three green | gear down three green | gear down and three green | gear's down"
        " | gear's down and locked",
    ),
    _p(Kind.GEAR, "in_transit", "gear in transit | in transit | gear is in transit", "gear coming down"),
    _p(Kind.GEAR, "up", "gear up | gear is up | wheels up"),
    _p(
        Kind.GEAR,
        "unsafe",
        "gear unsafe | unsafe gear | gear is unsafe | gear indicating unsafe | gear not down"
        " | gear not down and locked | gear is not down | wheels not down | one down and locked"
        " | two down and locked | two green",
    ),
    # Places of the pattern.
    _p(Kind.POSITION, "ninety_to_initial", "ninety to initial | niner zero to initial"),
    _p(Kind.POSITION, "forty_five_to_initial", "forty five to initial | four five to initial"),
    _p(Kind.POSITION, "initial", "initial"),
    _p(
        Kind.POSITION,
        "break",
        "in the break | in left break | in right break | in break | the break"
        " | left break | right break | breaking left | breaking right | breaking",
        "break",
    ),
    _p(Kind.POSITION, "inside_downwind", "inside downwind | inside left downwind | inside right downwind"),
    _p(
        Kind.POSITION, "outside_downwind", "outside downwind | outside left downwind | outside right downwind"
    ),
    _p(Kind.POSITION, "closed_downwind", "closed downwind | closed left downwind | closed right downwind"),
    _p(Kind.POSITION, "downwind", "downwind | left downwind | right downwind"),
    _p(Kind.POSITION, "perch", "perch | the perch | at the perch"),
    _p(Kind.POSITION, "base", "base | left base | right base"),
    _p(Kind.POSITION, "final_turn", "final turn | in the final turn | turning final"),
    _p(Kind.POSITION, "final", "final | on final | short final | long final", "finals"),
    _p(Kind.POSITION, "crosswind", "crosswind | turning crosswind"),
    _p(Kind.POSITION, "departure_end", "departure end | the departure end"),
    _p(Kind.POSITION, "upwind", "upwind | departure leg | on departure"),
    _p(Kind.POSITION, "midfield", "midfield"),
    # Requests and their answers.
    _p(
        Kind.REQUEST,
        "overhead",
        "request overhead | request the overhead | request overhead pattern"
        " | request the overhead pattern | for overhead | for the overhead | for the overhead pattern",
        "overhead | overhead pattern | would like overhead | would like the overhead | like the overhead"
        " | want the overhead | requesting overhead | requesting the overhead",
    ),
    _p(
        Kind.REQUEST,
        "straight_in",
        "request straight in | request a straight in | for straight in | for the straight in | straight in",
        "requesting straight in",
    ),
    _p(Kind.OVERHEAD, "approved", "overhead approved | overhead pattern approved"),
    _p(
        Kind.CLOSED,
        "requested",
        "request closed | request left closed | request right closed"
        " | request closed traffic | request left closed traffic | request right closed traffic",
        "requesting closed | requesting left closed | requesting right closed | like closed"
        " | would like closed",
    ),
    _p(
        Kind.CLOSED,
        "approved",
        "closed approved | left closed approved | right closed approved"
        " | closed traffic approved | left closed traffic approved | right closed traffic approved"
        " | approved closed",
        "cleared closed | closed is approved",
    ),
    _p(
        Kind.CLOSED,
        "denied",
        "unable closed | unable left closed | unable right closed | unable closed traffic"
        " | negative closed | negative closed traffic | negative left closed"
        " | negative right closed | closed denied | closed not approved | closed disapproved",
    ),
    _p(Kind.CLOSED, "bare", "closed | left closed | right closed | closed traffic"),
    _p(
        Kind.BREAK,
        "approved",
        "break approved | left break approved | right break approved | approved to break",
    ),
    _p(
        Kind.BREAK,
        "midfield",
        "break at midfield | break midfield | left break at midfield | breaking at midfield"
        " | breaking midfield | break approved at midfield",
    ),
    _p(
        Kind.BREAK,
        "departure_end",
        "break at departure end | break at the departure end | break departure end"
        " | breaking at departure end | breaking at the departure end | breaking departure end"
        " | break approved at departure end"
        " | break approved at the departure end | left break at departure end"
        " | left break at the departure end",
    ),
    # What the aircraft does.
    _p(Kind.ACTION, "going_around", "going around | go around | on the go around | going round"),
    _p(Kind.ACTION, "breaking_out", "breaking out | break out | breaking it out | execute break out"),
    _p(Kind.ACTION, "climbing_out", "climbing out | climb out"),
    _p(
        Kind.ACTION,
        "straight_through",
        "straight through | carry straight through | carrying straight through"
        " | continue straight through | going straight through",
    ),
    _p(Kind.ACTION, "extend_downwind", "extending downwind | extend downwind | extend your downwind"),
    _p(Kind.ACTION, "extend_upwind", "extending upwind | extend upwind | extend your upwind"),
    _p(Kind.ACTION, "turn_base", "turning base | turn base | turn base now | turning base now"),
    _p(Kind.ACTION, "extending", "extending | extend"),
    _p(Kind.ACTION, "continue", "continue | continuing"),
    _p(Kind.ACTION, "on_the_go", "on the go"),
    # Short words (Pilot/Controller Glossary).
    _p(Kind.ACK, "roger", "roger", "copy | copied | okay | ok"),
    _p(Kind.ACK, "wilco", "wilco | will comply", "will do"),
    _p(Kind.ACK, "affirmative", "affirmative", "affirm | yes | that's affirmative"),
    _p(Kind.ACK, "negative", "negative", "no"),
    _p(Kind.ACK, "unable", "unable"),
    _p(Kind.ACK, "stand_by", "stand by | standing by"),
    _p(Kind.TRAFFIC, "in_sight", "traffic in sight | in sight | contact traffic"),
    _p(
        Kind.TRAFFIC,
        "not_in_sight",
        "negative contact | traffic not in sight | looking for traffic | looking",
        "no joy",
    ),
    _p(Kind.TRAFFIC, "in_sight", "visual", "tally | tally ho"),
    # Questions.
    _p(Kind.QUERY, "say_again", "say again"),
    _p(Kind.QUERY, "say_callsign", "say call sign | say your call sign | station calling say call sign"),
    _p(Kind.QUERY, "say_position", "say position | say your position"),
    _p(Kind.QUERY, "say_intentions", "say intentions | say your intentions | say intention"),
    _p(
        Kind.QUERY,
        "confirm_gear",
        "confirm gear | confirm gear down | verify gear | verify gear down"
        " | confirm gear down and locked | verify gear down and locked | confirm wheels down"
        " | confirm three down and locked | verify three down and locked",
    ),
    _p(
        Kind.QUERY,
        "check_wheels_down",
        "check wheels down | wheels should be down | check gear down | check gear",
    ),
    # What a call does not need.
    _p(Kind.HESITATION, "hesitation", "uh | um | ah | er | hmm | erm | uhm"),
    _p(
        Kind.BREVITY,
        "brevity",
        "with you | at this time | please | good morning | good day | good afternoon"
        " | good evening | thank you | thanks | hello | hey | we are | i am | i'm | we're | and we"
        " | be advised | just | now | over and out | over to you",
    ),
)

CONNECTIVES = frozenset(
    _words(
        "the a an for to at on in and of is or will with from request report be your my our approved"
        " left right traffic over mile miles feet knots runway information altitude pattern turning i we this"
        " advise or above you have been number flight inbound established reporting"
        " level climbing descending passing maintaining"
    )
)
"""Words that carry no element of their own and need no excuse."""

SOUND_ALIKES: dict[str, tuple[str, ...]] = {
    "SABLE": ("table", "saber"),
    "HERON": ("harbor",),
    "MARTEN": ("mallard",),
}
"""Words that sound like a callsign's and are nobody's: they must be sayable, or they are heard as the
callsign. By ear they are in doubt, never right and never wrong."""

NEGATIONS = frozenset({"not", "no", "never", "don't", "without", "isn't", "cancel"})
"""A negation right before an element turns it round: "not cleared to land", "no touch and go"."""

HESITATIONS = frozenset(form for phrase in PHRASES if phrase.kind is Kind.HESITATION for form in phrase.forms)

CORRECTION = "correction"
"""What was said before it about the same thing does not count (AIM 4-2-3 practice; ICAO Doc 9432)."""

DISREGARD = "disregard"


def _index() -> dict[str, list[tuple[tuple[str, ...], Phrase, bool]]]:
    """Forms by first word, longest first, so that "gear down and locked" wins over "gear down"."""
    by_word: dict[str, list[tuple[tuple[str, ...], Phrase, bool]]] = {}
    for phrase in PHRASES:
        for forms, standard in ((phrase.forms, True), (phrase.careless, False)):
            for form in forms:
                words = tuple(form.split())
                by_word.setdefault(words[0], []).append((words, phrase, standard))
    for entries in by_word.values():
        entries.sort(key=lambda entry: -len(entry[0]))
    return by_word


FORMS_BY_WORD = _index()


def model_form(kind: Kind, value: str) -> str:
    """The words of the model form of a fixed phrase; KeyError if there is none."""
    for phrase in PHRASES:
        if phrase.kind is kind and phrase.value == value:
            return phrase.forms[0]
    raise KeyError((kind, value))


def values_of(kind: Kind) -> tuple[str, ...]:
    """Every value of a kind that fixed phrases can say, in table order."""
    return tuple(dict.fromkeys(phrase.value for phrase in PHRASES if phrase.kind is kind))
