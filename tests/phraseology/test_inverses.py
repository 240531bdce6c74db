"""What is rendered is read back as itself: elements, messages and numbers."""

import string
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phraseology.elements import Callsign, Kind, runway_name
from phraseology.errors import PhraseologyError
from phraseology.heard import Heard
from phraseology.numbers import (
    CARELESS_DIGITS,
    DIGIT_VALUES,
    read_digits,
    read_thousands,
    say_digits,
    say_thousands,
)
from phraseology.parse import World, parse
from phraseology.phrases import (
    AIRCRAFT_TYPES,
    DIRECTIONS,
    LETTERS,
    PHRASES,
    values_of,
)
from phraseology.reading.names import NO_NAMES
from phraseology.render import say
from phraseology.replies import ALL, REPLIES, Message, message, read_message, say_message
from phraseology.standards import STANDARDS, Standard, standard
from phraseology.words import tokens

WORLD = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
US = standard("us_military_tower")
WORDS_OF_THE_TRADE = {word for phrase in PHRASES for form in phrase.forms for word in form.split()} | NO_NAMES


def is_free(name: str) -> bool:
    """A name that is no word of the trade: only such a one can be a callsign's."""
    one_word = tokens(name) == (name.lower(),)
    return one_word and not parse(name, WORLD).elements and name.lower() not in WORDS_OF_THE_TRADE


names = st.sampled_from(sorted(WORLD.callsign_words)) | st.text(
    string.ascii_uppercase, min_size=3, max_size=6
).filter(is_free)


def callsigns_of(count: int) -> st.SearchStrategy[str]:
    """Known and unknown callsigns with so many figures."""
    figures = st.text(string.digits, min_size=count, max_size=count)
    return st.builds("{} {}".format, names, figures)


callsigns = callsigns_of(2)
positions = st.sampled_from(values_of(Kind.POSITION))
runways = st.builds(
    lambda number, side: f"{number}{side}",
    st.integers(1, 36),
    st.sampled_from(["", " left", " right", " center"]),
)
winds = (
    st.just("calm")
    | st.builds("{:03}/{}".format, st.integers(0, 360), st.integers(0, 99))
    | st.builds("{:03}/{}/{}".format, st.integers(0, 360), st.integers(1, 99), st.integers(1, 99))
    | st.builds("variable/{}".format, st.integers(1, 9))
)
altitudes = st.integers(1, 600).map(lambda hundreds: str(hundreds * 100))
altimeters = st.integers(2800, 3199).map(str)
reports = (
    st.sampled_from(sorted(WORLD.points))
    | positions
    | st.builds("{} {}".format, st.sampled_from(["initial", "final"]), st.integers(1, 9))
)
aircraft = st.sampled_from(sorted(set(AIRCRAFT_TYPES.values()))) | callsigns
places = positions | st.builds("{} {}".format, st.sampled_from(["initial", "final"]), st.integers(1, 9))
follows = aircraft | st.builds("{} {}".format, aircraft, places)
known_aircraft = aircraft.filter(lambda whom: whom != "traffic")
frequencies = st.integers(118000 // 25, 399975 // 25).map(lambda step: f"{step * 25 / 1000:.3f}".rstrip("0"))
frequencies = frequencies.map(lambda mhz: mhz + "0" if mhz.endswith(".") else mhz)
points = st.sampled_from(sorted(WORLD.points))

VALUES: dict[Kind, st.SearchStrategy[str]] = {
    Kind.STATION: st.sampled_from(["corbel tower", "tower", "wickstone tower"]),
    Kind.CALLSIGN: callsigns,
    Kind.WHERE: st.builds(
        "{} {}".format, st.integers(1, 99), st.sampled_from([name.replace(" ", "") for name in DIRECTIONS])
    ),
    Kind.POINT: points,
    Kind.QNH: st.integers(930, 1050).map(str),
    Kind.HEADING: st.integers(1, 360).map("{:03}".format),
    Kind.SPEED: st.integers(60, 450).map(str),
    Kind.FREQUENCY: frequencies,
    Kind.TIME: st.integers(0, 59).map("{:02}".format)
    | st.builds("{:02}{:02}".format, st.integers(0, 23), st.integers(0, 59)),
    Kind.CONDITION: st.builds("after {}".format, follows),
    Kind.HOLD: points,
    Kind.UNAVAILABLE: points,
    Kind.TRAFFIC_INFORMATION: st.builds("{} {}".format, known_aircraft, places),
    Kind.SOULS: st.integers(1, 9).map(str),
    Kind.ALTITUDE: altitudes,
    Kind.ATIS: st.sampled_from([*LETTERS, "numbers"]),
    Kind.RUNWAY: runways,
    Kind.WIND: winds,
    Kind.ALTIMETER: altimeters,
    Kind.REPORT: reports,
    Kind.SEQUENCE: st.integers(1, 9).map(str),
    Kind.FOLLOW: follows,
} | {
    kind: st.sampled_from(values_of(kind))
    for kind in Kind
    if values_of(kind) and kind not in (Kind.BREVITY, Kind.HESITATION)
}
VALUES[Kind.BREAK] |= st.integers(1, 30).map("in {}".format)
VALUES[Kind.FUEL] |= st.integers(1, 180).map(str)
VALUES[Kind.READABILITY] = st.integers(1, 5).map(str)
"""Every kind that can be said alone."""

BEHIND = {
    Kind.FLIGHT: ("sable two one", st.integers(2, 4).map(str) | st.just("flight")),
    Kind.SIDE: ("turn", st.sampled_from(["left", "right"])),
    Kind.FIELD: ("corbel traffic sable two one", st.just("corbel")),
    Kind.CONDITION: ("closed approved", st.sampled_from(["at departure_end", "at midfield"])),
    Kind.PART: (
        "say again",
        st.sampled_from(["wind", "altimeter", "all_after runway", "all_before cleared touch and go"]),
    ),
}
"""What is read only behind other words, with those."""

FOREIGN_PRESSURE = {"altimeter": Kind.QNH, "qnh": Kind.ALTIMETER}


def in_standard(name: str) -> tuple[Standard, World]:
    return standard(name), replace(WORLD, standard=standard(name))


def test_every_kind_is_tested() -> None:
    assert set(Kind) - set(VALUES) - set(BEHIND) == {Kind.DISTANCE, Kind.BREVITY, Kind.HESITATION}


FEW = settings(max_examples=25)
"""Where one test is run for each standard too."""


@pytest.mark.parametrize("name", STANDARDS)
@pytest.mark.parametrize("kind", VALUES, ids=str)
@FEW
@given(data=st.data())
def test_a_rendered_element_is_read_as_itself(kind: Kind, name: str, data: st.DataObject) -> None:
    value = data.draw(VALUES[kind])
    here, world = in_standard(name)
    parsed = parse(say(kind, value, here), world)
    is_standard = kind is not FOREIGN_PRESSURE[here.numbers.pressure]
    found = [(e.kind, e.value, e.standard, e.negated) for e in parsed.elements if e.kind is not Kind.SIDE]
    assert found == [(kind, value, is_standard, False)]
    assert parsed.leftover == ()


@pytest.mark.parametrize("kind", BEHIND, ids=str)
@given(data=st.data())
def test_what_is_said_behind_other_words_is_read_there(kind: Kind, data: st.DataObject) -> None:
    before, values = BEHIND[kind]
    value = data.draw(values)
    parsed = parse(f"{before} {say(kind, value, US)}", WORLD)
    assert (parsed.elements[-1].kind, parsed.elements[-1].value, parsed.leftover) == (kind, value, ())


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@given(data=st.data())
def test_a_callsign_of_the_usual_length_is_read_in_full(count: int, data: st.DataObject) -> None:
    """Beside another number too: the field knows how many figures its callsigns have."""
    world = replace(WORLD, usual_figures=count)
    callsign = data.draw(callsigns_of(count))
    for call in ("", " three mile initial", " ten miles west", " runway three one", " two thousand feet"):
        assert parse(say(Kind.CALLSIGN, callsign, US) + call, world).value(Kind.CALLSIGN) == callsign


@pytest.mark.parametrize("measured", ["initial", "final"])
@given(miles=st.integers(1, 9))
def test_a_rendered_distance_is_read_with_what_it_measures(measured: str, miles: int) -> None:
    parsed = parse(f"{say(Kind.DISTANCE, str(miles), US)} {measured}", WORLD)
    assert [(e.kind, e.value) for e in parsed.elements] == [
        (Kind.DISTANCE, str(miles)),
        (Kind.POSITION, measured),
    ]


@pytest.mark.parametrize(("kind", "value"), US.controller_words, ids=str)
def test_the_controllers_own_words_say_the_same(kind: Kind, value: str) -> None:
    parsed = parse(say(kind, value, US, controller=True), WORLD)
    assert [(e.kind, e.value) for e in parsed.elements] == [(kind, value)]


@pytest.mark.parametrize(
    ("form", "kind", "value", "is_standard"),
    [
        (form, phrase.kind, phrase.value, forms is phrase.forms)
        for phrase in PHRASES
        for forms in (phrase.forms, phrase.careless)
        for form in forms
    ],
)
def test_every_form_of_the_table_is_read_as_its_element(
    form: str, kind: Kind, value: str, is_standard: bool
) -> None:
    parsed = parse(form, WORLD)
    found = [(e.kind, e.value, e.standard) for e in parsed.elements if e.kind is not Kind.SIDE]
    assert found == [(kind, value, is_standard)]


@pytest.mark.parametrize(
    ("name", "form", "kind", "value"),
    [
        (each.name, form, kind, value)
        for each in STANDARDS.values()
        for (kind, value), forms in each.words.items()
        for form in forms
    ],
)
def test_the_words_of_a_standard_are_standard_there(name: str, form: str, kind: Kind, value: str) -> None:
    _, world = in_standard(name)
    found = [(e.kind, e.value, e.standard) for e in parse(form, world).elements if e.kind is not Kind.SIDE]
    assert found == [(kind, value, True)]


@pytest.mark.parametrize(
    ("said", "kind", "value", "side"),
    [
        ("left closed approved", Kind.CLOSED, "approved", "left"),
        ("request right closed", Kind.CLOSED, "requested", "right"),
        ("unable left closed traffic", Kind.CLOSED, "denied", "left"),
        ("left break approved", Kind.BREAK, "approved", "left"),
        ("right break at midfield", Kind.BREAK, "midfield", "right"),
        ("in the left break", Kind.POSITION, "break", "left"),
        ("breaking right", Kind.POSITION, "break", "right"),
        ("inside left downwind", Kind.POSITION, "inside_downwind", "left"),
        ("left base", Kind.POSITION, "base", "left"),
        ("make left three sixty", Kind.ACTION, "three_sixty", "left"),
    ],
)
def test_a_side_is_read_wherever_the_trade_puts_it(said: str, kind: Kind, value: str, side: str) -> None:
    parsed = parse(said, WORLD)
    assert (parsed.value(kind), parsed.value(Kind.SIDE), parsed.leftover) == (value, side, ())


def test_no_form_stands_in_the_table_twice() -> None:
    forms = [form for phrase in PHRASES for form in (*phrase.forms, *phrase.careless)]
    assert sorted(forms) == sorted(set(forms))


@st.composite
def messages(draw: st.DrawFn, name: str, here: Standard) -> Message:
    other = FOREIGN_PRESSURE[here.numbers.pressure]
    fields = {}
    for part in REPLIES[name].parts:
        left_out = part.optional and (part.kind is other or draw(st.booleans()))
        if part.value is not None or left_out:
            continue
        values = [VALUES[part.kind]] if part.kind in VALUES else []
        values += [BEHIND[part.kind][1]] if part.kind in BEHIND else []
        value = draw(st.one_of(values))
        fields[part.kind] = value if part.takes(part.kind, value) else draw(st.sampled_from(LIKE[part.like]))
    if name == "report" and fields[Kind.REPORT] == "break":
        fields[Kind.REPORT] = "initial"  # "report the break" is a reply of its own
    return message(name, draw(callsigns | st.just(ALL)), fields)


LIKE = {
    "midfield|departure_end": ["midfield", "departure_end"],
    "in [0-9]+": ["in 5", "in 10", "in 12"],
    "breaking_out|remain_clear": ["breaking_out", "remain_clear"],
}
"""Values of the parts that do not take any value of their kind."""


@pytest.mark.parametrize("where", STANDARDS)
@pytest.mark.parametrize("name", REPLIES)
@FEW
@given(data=st.data())
def test_a_message_is_read_as_itself(name: str, where: str, data: st.DataObject) -> None:
    here, world = in_standard(where)
    msg = data.draw(messages(name, here))
    assert read_message(say_message(msg, here), world) == msg


@pytest.mark.parametrize("where", ["us_military_tower", "icao"])
@pytest.mark.parametrize("name", REPLIES)
@FEW
@given(data=st.data())
def test_a_message_said_again_after_a_wrong_read_back_is_read_as_that(
    name: str, where: str, data: st.DataObject
) -> None:
    here, world = in_standard(where)
    msg = data.draw(messages(name, here))
    again = Message(msg.kind, msg.to, msg.elements, corrects=True)
    assert read_message(say_message(again, here), world) == again


@pytest.mark.parametrize(
    "name",
    [
        name
        for name, reply in REPLIES.items()
        if reply.parts[0].kind is Kind.QUERY and name != "verify_information"
    ],
)
def test_a_question_to_a_station_without_a_name_is_read_as_itself(name: str) -> None:
    msg = message(name, "", {})
    assert read_message(say_message(msg, US), WORLD) == msg


@given(st.text(string.digits, min_size=1, max_size=8))
def test_digits_both_ways(written: str) -> None:
    number = read_digits(say_digits(written).split(), 0, 8)
    assert number is not None
    assert (number.figures, number.length, number.standard) == (written, len(written), True)


@given(st.lists(st.sampled_from(sorted(DIGIT_VALUES)), min_size=1, max_size=8))
def test_every_digit_word_is_understood_and_the_careless_ones_told_apart(words: list[str]) -> None:
    number = read_digits(words, 0, 8)
    assert number is not None
    assert number.figures == "".join(DIGIT_VALUES[word] for word in words)
    assert number.standard == (not CARELESS_DIGITS & set(words))


@given(st.integers(20, 99).filter(lambda n: n % 10))
def test_group_form_is_understood_and_not_standard(value: int) -> None:
    tens = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")[value // 10 - 2]
    number = read_digits([tens, say_digits(str(value % 10))], 0, 2)
    assert number is not None
    assert (number.figures, number.standard) == (str(value), False)


@given(st.integers(1, 999).map(lambda hundreds: hundreds * 100))
def test_altitudes_both_ways(feet: int) -> None:
    words = say_thousands(feet).split()
    number = read_thousands(words, 0)
    assert number is not None
    assert (int(number.figures), number.length, number.standard) == (feet, len(words), True)


@given(st.integers(10, 999).map(lambda hundreds: hundreds * 100))
def test_a_written_altitude_is_said_in_thousands(feet: int) -> None:
    assert " ".join(tokens(f"{feet:,} ft")) == f"{say_thousands(feet)} feet"
    assert tokens(f"at {feet}") == ("at", *say_thousands(feet).split())


@given(callsigns)
def test_written_and_spoken_callsigns_are_the_same(callsign: str) -> None:
    assert " ".join(tokens(callsign)) == Callsign.of(callsign).spoken
    assert str(Callsign.of(callsign.replace(" ", "").lower())) == callsign


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("31", "31"),
        ("08L", "8 left"),
        ("8L", "8 left"),
        ("26R", "26 right"),
        ("08 left", "8 left"),
        ("9C", "9 center"),
    ],
)
def test_one_spelling_of_a_runway(written: str, name: str) -> None:
    assert runway_name(written) == name
    assert parse(say(Kind.RUNWAY, written, US), WORLD).value(Kind.RUNWAY) == name


@pytest.mark.parametrize("written", ["", "0", "37", "31X", "three one", "-1", "131"])
def test_no_runway(written: str) -> None:
    with pytest.raises(PhraseologyError, match="write 1 to 36"):
        runway_name(written)


def test_a_typed_line_is_certain_and_an_empty_one_is_nothing() -> None:
    assert all(word.confidence == 1.0 for word in Heard.typed("SABLE 21, initial").words)
    assert Heard.typed("  ...  ").words == ()
