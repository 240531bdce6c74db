"""What is rendered is read back as itself: elements, messages and numbers."""

import string
from dataclasses import replace

import pytest
from hypothesis import given
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
    CONNECTIVES,
    DIRECTIONS,
    LETTERS,
    PHRASES,
    values_of,
)
from phraseology.render import say
from phraseology.replies import REPLIES, Message, message, read_message, say_message
from phraseology.standards import standard
from phraseology.words import tokens

WORLD = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
US = standard("us_military_tower")
WORDS_OF_THE_TRADE = {
    word for phrase in PHRASES for form in phrase.forms for word in form.split()
} | CONNECTIVES


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
winds = st.just("calm") | st.builds("{:03}/{}".format, st.integers(0, 360), st.integers(0, 99))
altitudes = st.integers(1, 600).map(lambda hundreds: str(hundreds * 100))
altimeters = st.integers(2800, 3199).map(str)
reports = (
    st.sampled_from(sorted(WORLD.points))
    | positions
    | st.integers(1, 9).map(lambda miles: f"initial {miles}")
)
aircraft = st.sampled_from(sorted(set(AIRCRAFT_TYPES.values()))) | callsigns
follows = aircraft | st.builds("{} {}".format, aircraft, positions)

VALUES: dict[Kind, st.SearchStrategy[str]] = {
    Kind.STATION: st.sampled_from(["corbel tower", "tower", "wickstone tower"]),
    Kind.CALLSIGN: callsigns,
    Kind.WHERE: st.builds(
        "{} {}".format, st.integers(1, 99), st.sampled_from([name.replace(" ", "") for name in DIRECTIONS])
    ),
    Kind.POINT: st.sampled_from(sorted(WORLD.points)),
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
"""Every kind that can be said alone; a distance needs its initial, and is tested with it."""


def test_every_kind_is_tested() -> None:
    assert set(Kind) - set(VALUES) == {Kind.DISTANCE, Kind.BREVITY, Kind.HESITATION}


@pytest.mark.parametrize("kind", VALUES, ids=str)
@given(data=st.data())
def test_a_rendered_element_is_read_as_itself(kind: Kind, data: st.DataObject) -> None:
    value = data.draw(VALUES[kind])
    parsed = parse(say(kind, value, US), WORLD)
    assert [(e.kind, e.value, e.standard, e.negated) for e in parsed.elements] == [(kind, value, True, False)]
    assert parsed.leftover == ()


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@given(data=st.data())
def test_a_callsign_of_the_usual_length_is_read_in_full(count: int, data: st.DataObject) -> None:
    """Beside another number too: the field knows how many figures its callsigns have."""
    world = replace(WORLD, usual_figures=count)
    callsign = data.draw(callsigns_of(count))
    for call in ("", " three mile initial", " ten miles west", " runway three one", " two thousand feet"):
        assert parse(say(Kind.CALLSIGN, callsign, US) + call, world).value(Kind.CALLSIGN) == callsign


@given(miles=st.integers(1, 9))
def test_a_rendered_distance_is_read_with_its_initial(miles: int) -> None:
    parsed = parse(f"{say(Kind.DISTANCE, str(miles), US)} initial", WORLD)
    assert [(e.kind, e.value) for e in parsed.elements] == [
        (Kind.DISTANCE, str(miles)),
        (Kind.POSITION, "initial"),
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
    assert [(e.kind, e.value, e.standard) for e in parsed.elements] == [(kind, value, is_standard)]


def test_no_form_stands_in_the_table_twice() -> None:
    forms = [form for phrase in PHRASES for form in (*phrase.forms, *phrase.careless)]
    assert sorted(forms) == sorted(set(forms))


FIELDS: dict[Kind, st.SearchStrategy[str]] = {
    Kind.RUNWAY: runways,
    Kind.ALTITUDE: altitudes,
    Kind.WIND: winds,
    Kind.ALTIMETER: altimeters,
    Kind.REPORT: reports,
    Kind.BREAK: st.sampled_from(["midfield", "departure_end"]),
    Kind.CLEARANCE: st.sampled_from(values_of(Kind.CLEARANCE)),
    Kind.SEQUENCE: st.integers(1, 9).map(str),
    Kind.FOLLOW: follows,
}


@st.composite
def messages(draw: st.DrawFn, name: str) -> Message:
    fields = {
        part.kind: draw(FIELDS[part.kind])
        for part in REPLIES[name].parts
        if part.value is None and not (part.optional and draw(st.booleans()))
    }
    if name == "report" and fields[Kind.REPORT] == "break":
        fields[Kind.REPORT] = "initial"  # "report the break" is a reply of its own
    return message(name, draw(callsigns), fields)


@pytest.mark.parametrize("name", REPLIES)
@given(data=st.data())
def test_a_message_is_read_as_itself(name: str, data: st.DataObject) -> None:
    msg = data.draw(messages(name))
    assert read_message(say_message(msg, US), WORLD) == msg


@pytest.mark.parametrize("name", REPLIES)
@given(data=st.data())
def test_a_message_said_again_after_a_wrong_read_back_is_read_as_that(name: str, data: st.DataObject) -> None:
    msg = data.draw(messages(name))
    again = Message(msg.kind, msg.to, msg.elements, corrects=True)
    assert read_message(say_message(again, US), WORLD) == again


@pytest.mark.parametrize(
    "name", [name for name, reply in REPLIES.items() if reply.parts[0].kind is Kind.QUERY]
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
