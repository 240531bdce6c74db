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
    ("touch_and_go", "touch and go", "roller"),
    ("stop_and_go", "stop and go", ""),
    ("low_approach", "low approach", "low pass"),
    ("option", "the option | option", ""),
    ("full_stop", "full stop | to land", "land | landing"),
)

_CLEARED = (
    (
        "touch_and_go",
        "cleared touch and go | cleared for touch and go | cleared for a touch and go",
        "cleared roller",
    ),
    ("stop_and_go", "cleared stop and go | cleared for stop and go", ""),
    ("low_approach", "cleared low approach | cleared for low approach | cleared for a low approach", ""),
    ("option", "cleared for the option | cleared the option | cleared option | cleared for option", ""),
    ("full_stop", "cleared to land | cleared full stop | cleared for full stop | cleared land", ""),
)


def _carelessly_cleared(forms: str, careless: str) -> str:
    return " | ".join((careless, forms.replace("cleared", "clear"), forms.replace("cleared", "clearing")))


_PLACES = (
    _p(Kind.POSITION, "ninety_to_initial", "ninety to initial | niner zero to initial"),
    _p(Kind.POSITION, "forty_five_to_initial", "forty five to initial | four five to initial"),
    _p(Kind.POSITION, "initial", "initial", "initials"),
    _p(
        Kind.POSITION,
        "break",
        "in the break | in break | on the break | the break | left break | right break | breaking",
        "break",
    ),
    _p(Kind.POSITION, "inside_downwind", "inside downwind"),
    _p(Kind.POSITION, "outside_downwind", "outside downwind"),
    _p(Kind.POSITION, "closed_downwind", "closed downwind"),
    _p(Kind.POSITION, "downwind", "downwind"),
    _p(Kind.POSITION, "perch", "perch | the perch | at the perch"),
    _p(Kind.POSITION, "base", "base"),
    _p(Kind.POSITION, "final_turn", "final turn | in the final turn | turning final"),
    _p(Kind.POSITION, "final", "final | on final | short final | long final", "finals | on finals"),
    _p(Kind.POSITION, "crosswind", "crosswind | turning crosswind"),
    _p(Kind.POSITION, "departure_end", "departure end | the departure end"),
    _p(Kind.POSITION, "upwind", "upwind | departure leg | on departure"),
    _p(Kind.POSITION, "midfield", "midfield"),
)

# The honest forms. "In transit" is permitted (CNATRA P-806); it never becomes "down".
_GEAR = (
    _p(
        Kind.GEAR,
        "down",
        "gear down | gear down and locked | gear down locked | gear down three down and locked"
        " | gear three down and locked | three down and locked | down and locked | gear is down"
        " | gear is down and locked | wheels down | wheels down and locked | wheels are down",
        "three green | three greens | gear down three green | gear down and three green | gear's down"
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
)

_REQUESTS = (
    _p(
        Kind.REQUEST,
        "overhead",
        "request overhead | request the overhead | request overhead pattern"
        " | request the overhead pattern | for overhead | for the overhead | for the overhead pattern",
        "overhead | overhead pattern | would like overhead | would like the overhead | like the overhead"
        " | want the overhead | requesting overhead | requesting the overhead"
        " | request run in and break | for run in and break | run in and break",
    ),
    _p(
        Kind.REQUEST,
        "straight_in",
        "request straight in | request a straight in | for straight in | for the straight in"
        " | for a straight in | straight in",
        "requesting straight in | requesting a straight in",
    ),
    _p(
        Kind.OVERHEAD,
        "approved",
        "overhead approved | overhead pattern approved",
        "run in and break approved",
    ),
    _p(
        Kind.OVERHEAD,
        "denied",
        "unable overhead | unable the overhead | unable overhead pattern | negative overhead",
        "unable run in and break",
    ),
    _p(
        Kind.CLOSED,
        "requested",
        "request closed | request closed traffic",
        "requesting closed | requesting closed traffic | like closed | would like closed",
    ),
    _p(
        Kind.CLOSED,
        "approved",
        "closed approved | closed traffic approved | approved closed | closed traffic is approved",
        "cleared closed | closed is approved",
    ),
    _p(
        Kind.CLOSED,
        "denied",
        "unable closed | unable closed traffic | negative closed | negative closed traffic"
        " | closed denied | closed not approved | closed disapproved",
    ),
    _p(Kind.CLOSED, "bare", "closed | closed traffic"),
    _p(Kind.BREAK, "approved", "break approved | approved to break"),
    _p(
        Kind.BREAK,
        "midfield",
        "break at midfield | break midfield | breaking at midfield | breaking midfield"
        " | break approved at midfield",
    ),
    _p(
        Kind.BREAK,
        "departure_end",
        "break at departure end | break at the departure end | break departure end"
        " | breaking at departure end | breaking at the departure end | breaking departure end"
        " | break approved at departure end | break approved at the departure end",
    ),
    _p(
        Kind.BREAK,
        "my_call",
        "break at my call | break on my call | break my call | break at your call | breaking at your call"
        " | breaking on your call | break on your call | your call for the break",
    ),
    _p(Kind.BREAK, "now", "break now | breaking now"),
)

_ACTIONS = (
    _p(
        Kind.ACTION,
        "going_around",
        "going around | go around | on the go around | going round",
        "overshooting | overshoot",
    ),
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
    _p(
        Kind.ACTION,
        "short_approach",
        "short approach | make short approach | make a short approach | making short approach",
    ),
    _p(
        Kind.ACTION,
        "three_sixty",
        "three sixty | make three sixty | make a three sixty | making three sixty | making a three sixty"
        " | orbit | orbiting",
    ),
    _p(
        Kind.ACTION,
        "make_straight_in",
        "making straight in | make straight in | straight in only | make a straight in",
    ),
    _p(Kind.ACTION, "remain_outside", "remaining outside | remain outside | remain outside the pattern"),
    _p(
        Kind.ACTION,
        "remain_clear",
        "remaining clear | remain clear | remain clear of the pattern | remaining clear of the pattern",
    ),
    _p(Kind.ACTION, "extending", "extending | extend"),
    _p(Kind.ACTION, "continue", "continue | continuing"),
    _p(Kind.ACTION, "on_the_go", "on the go"),
    _p(
        Kind.ACTION,
        "clear_of_runway",
        "clear of the runway | clear of | clear the runway | off the runway",
        "clear of the active | clear the active | runway vacated | vacated | vacated the runway",
    ),
)

_SHORT_WORDS = (
    _p(Kind.ACK, "roger", "roger", "copy | copied | okay | ok"),
    _p(Kind.ACK, "wilco", "wilco | will comply", "will do"),
    _p(Kind.ACK, "affirmative", "affirmative", "affirm | yes | that's affirmative"),
    _p(Kind.ACK, "negative", "negative | negative i say again", "no"),
    _p(Kind.ACK, "unable", "unable"),
    _p(Kind.ACK, "stand_by", "stand by | standing by"),
    _p(Kind.ACK, "go_ahead", "go ahead", "pass your message"),
    _p(Kind.ACK, "readback_correct", "read back correct | read back is correct", "that is correct | correct"),
    _p(Kind.TRAFFIC, "in_sight", "traffic in sight | in sight | contact traffic"),
    _p(
        Kind.TRAFFIC,
        "not_in_sight",
        "negative contact | traffic not in sight | looking for traffic | looking",
        "no joy",
    ),
    _p(Kind.TRAFFIC, "in_sight", "visual", "tally | tally ho"),
)

_QUESTIONS = (
    _p(Kind.QUERY, "say_again", "say again"),
    _p(Kind.QUERY, "say_callsign", "say call sign | say your call sign | station calling say call sign"),
    _p(Kind.QUERY, "say_position", "say position | say your position"),
    _p(Kind.QUERY, "say_altitude", "say altitude | say your altitude"),
    _p(Kind.QUERY, "say_intentions", "say intentions | say your intentions | say intention"),
    _p(
        Kind.QUERY,
        "say_nature",
        "say nature of emergency | say nature of your emergency | say the nature of your emergency",
    ),
    _p(
        Kind.QUERY,
        "say_fuel_and_souls",
        "say fuel remaining and souls on board | say souls on board and fuel remaining"
        " | say fuel and souls on board | say fuel and souls",
    ),
    _p(
        Kind.QUERY,
        "how_do_you_hear",
        "radio check how do you hear | how do you hear | how do you read | radio check how do you read",
    ),
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
    _p(Kind.QUERY, "verify", "verify | confirm"),
    _p(Kind.RADIO, "check", "radio check | request radio check", "requesting radio check"),
    _p(
        Kind.READABILITY,
        "5",
        "loud and clear | read you loud and clear | have you loud and clear",
        "five by five | reading you five by five",
    ),
    _p(Kind.READABILITY, "3", "weak but readable | read you weak but readable", "readable with difficulty"),
    _p(Kind.READABILITY, "1", "unreadable"),
)

_NOTICES = (
    _p(Kind.NOTICE, "runway_change", "runway change | change of runway", "changing runway"),
    _p(
        Kind.NOTICE,
        "birds",
        "caution birds | caution birds in the vicinity | birds in the vicinity | bird activity"
        " | caution bird activity",
    ),
    _p(Kind.NOTICE, "wind_shear", "caution wind shear | wind shear | wind shear alert"),
    _p(Kind.NOTICE, "wake_turbulence", "caution wake turbulence | wake turbulence"),
    _p(
        Kind.NOTICE,
        "emergency",
        "emergency in the pattern | emergency in pattern | emergency in progress | emergency on final",
    ),
    _p(
        Kind.NOTICE,
        "straight_ins_closed",
        "pattern closed to straight ins | the pattern is closed to straight ins | no straight ins",
    ),
    _p(
        Kind.NOTICE,
        "full_stops_only",
        "full stops only | full stop only | pattern open for full stops only",
    ),
    _p(Kind.NOTICE, "pattern_closed", "pattern closed | the pattern is closed | pattern is closed"),
)

_EMERGENCIES = (
    _p(Kind.EMERGENCY, "mayday", "mayday mayday mayday", "mayday mayday | mayday"),
    _p(Kind.EMERGENCY, "pan_pan", "pan pan pan pan pan pan", "pan pan | pan pan pan pan"),
    _p(
        Kind.EMERGENCY,
        "declared",
        "declaring an emergency | declaring emergency | declare an emergency",
        "emergency | have an emergency | emergency aircraft",
    ),
    _p(Kind.NATURE, "engine_failure", "engine failure | engine flameout | flameout | flame out | engine out"),
    _p(Kind.NATURE, "engine_fire", "engine fire | fire | engine on fire"),
    _p(
        Kind.NATURE,
        "hydraulic_failure",
        "hydraulic failure | hydraulics failure | complete hydraulic failure | hydraulic pressure low",
    ),
    _p(
        Kind.NATURE,
        "electrical_failure",
        "electrical failure | generator failure | complete electrical failure",
    ),
    _p(Kind.NATURE, "bird_strike", "bird strike | birdstrike"),
    _p(Kind.NATURE, "smoke", "smoke in the cockpit | smoke in cockpit", "smoke"),
    _p(Kind.NATURE, "flight_controls", "flight control problem | flight control failure | flight controls"),
    _p(Kind.NATURE, "oil_pressure", "low oil pressure | oil pressure low | oil pressure"),
    _p(Kind.NATURE, "fuel_leak", "fuel leak"),
    _p(Kind.FUEL, "minimum", "minimum fuel | declaring minimum fuel", "min fuel | low fuel | low on fuel"),
)

_NOT_NEEDED = (
    _p(Kind.HESITATION, "hesitation", "uh | um | ah | er | hmm | erm | uhm"),
    _p(
        Kind.BREVITY,
        "brevity",
        "with you | at this time | please | good morning | good day | good afternoon"
        " | good evening | thank you | thanks | hello | hey | we are | i am | i'm | we're | and we"
        " | be advised | just | now | over and out | over to you",
    ),
)

PHRASES: tuple[Phrase, ...] = (
    *(_p(Kind.INTENTION, value, forms, careless) for value, forms, careless in _INTENTIONS),
    *(
        _p(Kind.CLEARANCE, value, forms, _carelessly_cleared(forms, careless))
        for value, forms, careless in _CLEARED
    ),
    *_GEAR,
    *_PLACES,
    *_REQUESTS,
    *_ACTIONS,
    *_SHORT_WORDS,
    *_QUESTIONS,
    *_NOTICES,
    *_EMERGENCIES,
    *_NOT_NEEDED,
)

SIDES = frozenset({"left", "right"})

TURNS = frozenset({"break", "closed", "downwind", "base", "three", "orbit", "traffic"})
"""Words of a phrase that may have "left" or "right" in front: "request right closed", "left three sixty"."""

SIDED = frozenset({Kind.POSITION, Kind.CLOSED, Kind.BREAK, Kind.ACTION})
"""Kinds whose phrases may name a side."""

CONNECTIVES = frozenset(
    _words(
        "the a an for to at on in and of is or will with from request report be your my our approved"
        " left right traffic over mile miles feet knots runway information altitude pattern turning i we this"
        " advise or above you have been number flight inbound established reporting"
        " level climbing descending passing maintaining maintain climb descend turn make making fly contact"
        " monitor caution all aircraft stations board remaining seconds minutes degrees after behind has"
        " heading speed reduce hold holding surface point decimal"
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
