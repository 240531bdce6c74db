"""Whatever is said, the judge stands; and what lacks the callsign or the point of the call never passes."""

import re
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from phraseology.assess import assess
from phraseology.calls import CALLS, expect
from phraseology.elements import Callsign, Kind
from phraseology.expected import Context, Expected, Silence
from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.numbers import DIGIT_VALUES, TEEN_VALUES, TENS_VALUES
from phraseology.parse import World, parse
from phraseology.phrases import CONNECTIVES, CORRECTION, DIRECTIONS, DISREGARD, HESITATIONS, LETTERS, PHRASES
from phraseology.readback import answer_to
from phraseology.replies import read_message
from phraseology.standards import standard
from phraseology.words import tokens

WORLD = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
CONTEXT = Context(
    standard=standard("us_military_tower"),
    world=WORLD,
    callsign="SABLE 21",
    runway="31",
    station="corbel tower",
    intention="touch_and_go",
    point="QUARRY",
    altitude_ft=4500,
    distance_nm=3,
    atis="alfa",
    where="10 west",
    # Without it "sable two one one two zero minutes" is as well SABLE 21 with 120 minutes as SABLE 211 with 20.
    fuel_min=20,
    souls=2,
)
MESSAGES = (
    "SABLE 21, runway 31, overhead approved, pattern altitude 2,700, wind calm, altimeter 29.92,"
    " report three-mile initial",
    "SABLE 21, number two, follow HERON 42 in the final turn, runway 31, wind 310 at 8, cleared touch and go",
    "SABLE 21, unable closed, climb out at or above 3,700, report SILO",
    "SABLE 21, unable closed, breakout, report QUARRY",
    "SABLE 21, break at midfield",
    "SABLE 21, closed approved",
    "SABLE 21, go around",
    "SABLE 21, confirm gear",
    "SABLE 21, roger",
    "SABLE 12, closed approved",
)
EXPECTED: dict[str, Expected] = {name: expect(name, CONTEXT) for name in CALLS} | {
    words: answer_to(read_message(words, WORLD), CONTEXT) for words in MESSAGES
}

KEY_WORDS = {
    "check_in": r"overhead",
    "entry_point": r"quarry",
    "initial": r"initial",
    "break_report": r"break(ing)?",
    "gear_report": r"(gear|gear's|wheels|locked|green|transit)",
    "request_closed": r"closed",
    "outside_downwind": r"outside( left| right)? downwind",
    "going_around": r"(a)?round",
    "breaking_out": r"out",
    "straight_through": r"straight through",
    "say_again": r"say again",
    "ninety_to_initial": r"to initial",
    "forty_five_to_initial": r"to initial",
    "final": r"finals?",
    "intention": r"(touch and go|roller)",
    "clear_of_runway": r"(clear|off|vacated)",
    "on_the_go": r"on the go",
    "closed_downwind": r"closed( left| right)? downwind",
    "crosswind": r"crosswind",
    "climbing_out": r"out",
    "unable": r"(unable|negative|denied|disapproved|closed not approved)",
    "stand_by": r"(stand|standing) by",
    "traffic_in_sight": r"(sight|contact|visual|tally)",
    "negative_contact": r"(negative contact|not in sight|looking|no joy)",
    "radio_check": r"(check|how do you)",
    "minimum_fuel": r"fuel",
    "emergency": r"(mayday|pan|emergency)",
    "emergency_details": r"(souls?|persons|people|pob|board)",
    "announce_inbound": r"(overhead|run in)",
    "announce_initial": r"initials?",
    "announce_break": r"break(ing)?",
    "announce_final": r"(three|tree|thirty) one",
    "announce_departure": r"(go|round|around|overshoot(ing)?)",
    "announce_clear": r"(clear|off|vacated)",
    MESSAGES[0]: r"(nine|niner)",
    MESSAGES[1]: r"touch and go",
    MESSAGES[2]: r"silo",
    MESSAGES[3]: r"quarry",
    MESSAGES[6]: r"((a)?round|wilco|roger|affirm\w*|comply|yes|copy|copied|okay|ok)",
    MESSAGES[7]: r"(gear|gear's|wheels|locked|green|transit)",
}
"""Words without which the call cannot have been made, found in the text and not by the parser."""

VOCABULARY = sorted(
    {word for phrase in PHRASES for form in (*phrase.forms, *phrase.careless) for word in form.split()}
    | {word for name in DIRECTIONS for word in name.split()}
    | {*DIGIT_VALUES, *TEEN_VALUES, *TENS_VALUES, *CONNECTIVES, *LETTERS, CORRECTION, DISREGARD}
    | {"sable", "heron", "table", "corbel", "tower", "quarry", "silo", "weir", "thousand", "hundred", "point"}
    | {"wind", "altimeter", "calm", "follow", "number", "weather", "lovely", "not", "no"}
)
PIECES = (
    "sable two one",
    "sable one two",
    "corbel tower",
    "ten miles west",
    "four thousand five hundred",
    "information alfa",
    "request overhead",
    "touch and go",
    "three mile initial",
    "gear down",
    "runway three one",
    "cleared touch and go",
    "request closed",
    "closed approved",
    "breaking out",
    "report quarry",
    "report silo",
    "two niner niner two",
    "climbing out",
    "three thousand seven hundred",
    "wilco",
    "roger",
    "unable",
    "say again",
    "in the break",
    "outside downwind",
    "uh",
)
untimed = settings(deadline=None)
"""On a busy machine a slow example is no fault."""
any_words = st.lists(st.sampled_from(VOCABULARY), max_size=14).map(" ".join)
any_pieces = st.lists(st.sampled_from((*PIECES, *VOCABULARY)), max_size=9).map(" ".join)
any_text = st.text(max_size=80) | st.binary(max_size=60).map(lambda raw: raw.decode("latin-1"))


@untimed
@given(any_text)
def test_any_text_gives_words(text: str) -> None:
    assert all(re.fullmatch(r"[a-z]+('[a-z]+)?", word) for word in tokens(text))


@untimed
@given(any_text | any_words | any_pieces)
def test_elements_and_leftovers_lie_within_the_words_and_apart(text: str) -> None:
    parsed = parse(text, WORLD)
    places = [place for element in parsed.elements for place in range(element.start, element.end)]
    # Only a hesitation may lie inside another element.
    apart = [place for place in places if parsed.words[place] not in HESITATIONS]
    assert len(apart) == len(set(apart))
    assert all(0 <= place < len(parsed.words) for place in (*places, *parsed.leftover))
    assert not set(places) & set(parsed.leftover)


@st.composite
def spoilt(draw: st.DrawFn, model: str) -> str:
    """The model with a few words dropped, put in, exchanged or moved."""
    words = list(tokens(model))
    for _ in range(draw(st.integers(0, 3))):
        place = draw(st.integers(0, len(words) - 1)) if words else 0
        match draw(st.sampled_from(["drop", "put in", "exchange", "move"])):
            case "drop":
                del words[place : place + 1]
            case "put in":
                words.insert(place, draw(st.sampled_from(VOCABULARY)))
            case "exchange":
                words[place : place + 1] = [draw(st.sampled_from(VOCABULARY))]
            case _:
                words[place:], words[:place] = words[:place], words[place:]
    return " ".join(words)


@pytest.mark.parametrize("name", EXPECTED)
@untimed
@given(data=st.data())
def test_nothing_passes_without_the_callsign_and_the_point_of_the_call(
    name: str, data: st.DataObject
) -> None:
    expected = EXPECTED[name]
    said = data.draw(any_words | any_pieces | spoilt(expected.model_call))
    assessment = assess(expected, said)
    assert 0 <= assessment.score <= 100
    assume(CORRECTION not in said and DISREGARD not in said)
    if not assessment.accepted:
        return
    if expected.silence is Silence.REQUIRED:
        assert said == ""
    elif said or expected.silence is Silence.WRONG:
        spoken = " ".join(word for word in said.split() if word not in HESITATIONS)
        assert re.search(r"\bsable (two one|twenty one)\b", spoken)
        assert assessment.refused or re.search(rf"\b{KEY_WORDS.get(name, 'sable')}\b", spoken)


@untimed
@given(any_words | any_pieces | any_text)
def test_any_words_are_some_message(words: str) -> None:
    msg = read_message(words, WORLD)
    assess(answer_to(msg, CONTEXT), words)
    assess(answer_to(msg, CONTEXT), "SABLE 21, roger")


@untimed
@given(
    st.lists(st.tuples(st.sampled_from(VOCABULARY), st.floats(0.0, 1.0)), max_size=12),
    st.sampled_from([HeardBy.SITUATION, HeardBy.LANGUAGE]),
    st.sampled_from(sorted(EXPECTED)),
)
def test_doubt_never_raises_and_never_costs(words: list[tuple[str, float]], by: HeardBy, name: str) -> None:
    heard = Heard(tuple(HeardWord(text, confidence) for text, confidence in words), by)
    doubtful = assess(EXPECTED[name], heard)
    certain = assess(EXPECTED[name], " ".join(text for text, _ in words))
    assert doubtful.score >= certain.score
    assert all(judged.severity.value == "none" for judged in doubtful.unsure)


def models() -> list[tuple[str, str]]:
    return [(name, expected.model_call) for name, expected in EXPECTED.items() if expected.model_call]


@pytest.mark.parametrize(("name", "model"), models())
@untimed
@given(place=st.integers(0, 1), figure=st.sampled_from("0123456789"))
def test_another_figure_in_the_callsign_is_never_accepted(
    name: str, model: str, place: int, figure: str
) -> None:
    figures = [*"21"]
    assume(figures[place] != figure)
    figures[place] = figure
    other = Callsign("SABLE", "".join(figures)).spoken
    said = model.replace("sable two one", other)
    assert said != model
    assessment = assess(EXPECTED[name], said)
    assert not assessment.accepted
    assert "callsign" in {judged.element for judged in assessment.critical}


OTHERS = (
    "SABLE 12",
    "SABLE 22",
    "SABLE 31",
    "SABLE 20",
    "SABLE 2",
    "SABLE 211",
    "SABLE",
    "TABLE 21",
    "ADZE 21",
)


def right_calls() -> list[tuple[str, str]]:
    """Every accepted call of the instructor's files that says the callsign as it is written."""
    files = [YAML(typ="safe").load(path) for path in sorted((Path(__file__).parent / "cases").glob("*.yaml"))]
    return [
        (file["call"], case["said"])
        for file in files
        if "call" in file
        for case in file["right"]
        if "SABLE 21" in case["said"] and "context" not in case and "correction" not in case["said"]
    ]


@pytest.mark.parametrize(("name", "said"), right_calls())
def test_the_same_call_of_another_aircraft_is_never_accepted(name: str, said: str) -> None:
    for other in OTHERS:
        assessment = assess(EXPECTED[name], said.replace("SABLE 21", other))
        assert not assessment.accepted, other


@pytest.mark.parametrize(
    ("words", "station"),
    [
        ("victor tower sable two one", "victor tower"),
        ("wickstone tower sable two one", "wickstone tower"),
        ("roger tower sable two one", "tower"),
        ("um tower sable two one", "tower"),
        ("sable two one tower", "tower"),
    ],
)
def test_a_first_word_that_says_nothing_is_the_name_of_another_tower(words: str, station: str) -> None:
    assert [e.value for e in parse(words, WORLD).elements if e.kind is Kind.STATION] == [station]
