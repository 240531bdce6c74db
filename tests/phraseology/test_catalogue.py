"""The catalogue walked: every call and reply has its model, its rules, its way back, and can be heard."""

from collections.abc import Iterator

import pytest

from phraseology.assess import assess
from phraseology.calls import CALLS, SHORT_NAMES, call_kind, expect
from phraseology.elements import Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.expected import Context, Expected, Silence, Slot
from phraseology.parse import World, parse
from phraseology.readback import answer_to
from phraseology.render import say
from phraseology.replies import REPLIES, Message, message, read_message, reply_kind, say_message
from phraseology.situation import situation
from phraseology.standards import STANDARDS, standard
from phraseology.wordgraph import WordAutomaton
from phraseology.words import tokens

FIELDS = {
    Kind.RUNWAY: "31",
    Kind.ALTITUDE: "3700",
    Kind.WIND: "310/8",
    Kind.ALTIMETER: "2992",
    Kind.REPORT: "QUARRY",
    Kind.BREAK: "midfield",
    Kind.CLEARANCE: "touch_and_go",
    Kind.SEQUENCE: "2",
    Kind.FOLLOW: "turboprop_trainer final_turn",
}
"""A value for every field that a reply can have."""


def example(name: str, **changes: str) -> Message:
    return message(name, "SABLE 21", FIELDS | {Kind(kind): value for kind, value in changes.items()})


# -- models ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CALLS)
def test_the_model_of_a_call_is_the_perfect_call(name: str, context: Context) -> None:
    for here in (
        context,
        context.with_(intention="full_stop"),
        context.with_(callsign="ADZE 95", runway="8L"),
    ):
        expected = expect(name, here)
        assessment = assess(expected, expected.model_call)
        assert (assessment.score, assessment.accepted, assessment.faults) == (100, True, ())
        assert expected.given_away_by(parse(expected.model_call, here.world))


@pytest.mark.parametrize("name", CALLS)
def test_a_call_of_which_nothing_is_fixed_still_has_a_model(name: str, world: World) -> None:
    bare = Context(standard("us_military_tower"), world, "SABLE 21", "31", "corbel tower")
    expected = expect(name, bare)
    assert expected.model_call.startswith(("sable two one", "corbel tower, sable two one"))
    assert not assess(expected, expected.model_call).critical


@pytest.mark.parametrize("name", REPLIES)
def test_the_model_answer_is_the_perfect_answer(name: str, context: Context) -> None:
    here = context.with_(position="inside_downwind")
    for fields in ({}, {"report": "initial 3"}, {"report": "outside_downwind"}, {"clearance": "full_stop"}):
        expected = answer_to(example(name, **fields), here)
        assessment = assess(expected, expected.model_call)
        assert (assessment.score, assessment.accepted, assessment.faults) == (100, True, ())


@pytest.mark.parametrize("name", REPLIES)
def test_a_reply_is_read_back_as_itself_and_is_for_one_aircraft_only(name: str, context: Context) -> None:
    msg = example(name)
    read = read_message(say_message(msg, context.standard), context.world)
    assert read == msg
    other = answer_to(read, context.with_(callsign="SABLE 12"))
    assert other.silence is Silence.REQUIRED
    assert other.model_call == ""
    assert assess(other, "").score == 100


def test_every_reply_follows_calls_that_there_are() -> None:
    assert {call for reply in REPLIES.values() for call in reply.answers} <= set(CALLS)


@pytest.mark.parametrize(
    ("follow", "words"),
    [
        ("turboprop_trainer final_turn", "follow turboprop trainer in the final turn"),
        ("HERON 42 break", "follow heron four two in the break"),
        ("jet_trainer initial", "follow jet trainer on initial"),
        ("fast_jet inside_downwind", "follow fast jet on inside downwind"),
        ("traffic perch", "follow traffic at the perch"),
        ("HERON 42", "follow heron four two"),
    ],
)
def test_traffic_to_follow_is_placed_as_the_trade_says_it(follow: str, words: str, context: Context) -> None:
    assert say(Kind.FOLLOW, follow, context.standard) == words


def test_an_unknown_name_is_answered_with_the_nearest_and_the_list() -> None:
    with pytest.raises(PhraseologyError, match=r'did you mean "gear_report".*check_in'):
        call_kind("gear_reprot")
    with pytest.raises(PhraseologyError, match=r'did you mean "closed_approved".*overhead_approved'):
        reply_kind("close_approved")
    with pytest.raises(PhraseologyError, match="needs a report"):
        message("breakout", "SABLE 21", {})
    with pytest.raises(PhraseologyError, match="us_military_tower"):
        standard("none")
    with pytest.raises(PhraseologyError, match="no words for position"):
        say(Kind.POSITION, "backwards", standard("us_military_tower"))


# -- rules ----------------------------------------------------------------------------------------


def everything(context: Context) -> Iterator[Expected]:
    yield from (expect(name, context) for name in CALLS)
    yield from (answer_to(example(name), context) for name in REPLIES)


@pytest.mark.parametrize("name", STANDARDS)
def test_every_rule_of_a_standard_says_what_and_where_from(name: str) -> None:
    for key, rule in STANDARDS[name].rules.items():
        assert rule.text.endswith("."), key
        assert rule.source.strip(), key


def test_every_slot_and_every_ban_rests_on_a_rule_of_the_standard(context: Context) -> None:
    rules = list(context.standard.rules.values())
    for expected in everything(context):
        assert all(slot.rule in rules for slot in expected.slots), expected.name
        assert all(never.rule in rules for never in expected.never), expected.name
        judged = assess(expected, "heron one two uh with you gear down runway one three cleared to land")
        assert all(entry.rule in rules for entry in judged.elements), expected.name


# -- what can be heard ----------------------------------------------------------------------------

ANOTHER = {
    Kind.STATION: "tower",
    Kind.WHERE: "7 northeast",
    Kind.POSITION: "outside_downwind",
    Kind.DISTANCE: "5",
    Kind.POINT: "WEIR",
    Kind.ALTITUDE: "4200",
    Kind.ATIS: "bravo",
    Kind.REQUEST: "straight_in",
    Kind.OVERHEAD: "approved",
    Kind.INTENTION: "low_approach",
    Kind.CLEARANCE: "full_stop",
    Kind.GEAR: "in_transit",
    Kind.RUNWAY: "13",
    Kind.ALTIMETER: "2982",
    Kind.CLOSED: "approved",
    Kind.BREAK: "departure_end",
    Kind.ACTION: "breaking_out",
    Kind.REPORT: "SILO",
    Kind.SEQUENCE: "3",
    Kind.FOLLOW: "fast_jet initial",
    Kind.QUERY: "say_position",
}
"""A wrong value of each kind, as somebody would say it."""


def spoken(slots: list[tuple[Slot, str | None]], context: Context) -> tuple[str, ...]:
    words = [say(slot.kind, value, context.standard) for slot, value in slots if value is not None]
    return tokens(" ".join(words))


def sentences(expected: Expected) -> Iterator[tuple[str, ...]]:
    """The model, and the model with each element left out, wrong, or by another callsign."""
    context = expected.context
    said = [(slot, slot.say) for slot in expected.slots if slot.missing is not Severity.NONE and slot.say]
    yield tokens(expected.model_call)
    for number, (slot, _) in enumerate(said):
        if len(said) > 1:
            yield spoken([*said[:number], *said[number + 1 :]], context)
        others = [ANOTHER[slot.kind]] if slot.kind in ANOTHER else []
        if slot.kind is Kind.CALLSIGN:
            others = ["SABLE 12", "SABLE 22", "SABLE 31", "TABLE 21", "HERON 21"]
        for value in others:
            yield spoken([*said[:number], (slot, value), *said[number + 1 :]], context)


def cannot_hear(graph: WordAutomaton, expected: Expected) -> list[str]:
    return [" ".join(words) for words in sentences(expected) if not graph.accepts(words)]


@pytest.mark.parametrize("name", CALLS)
def test_right_and_wrong_calls_can_be_heard_where_the_call_is_due(name: str, context: Context) -> None:
    expected = expect(name, context)
    graph = situation([expected], [expect(other, context) for other in CALLS if other != name])
    assert cannot_hear(graph, expected) == []


@pytest.mark.parametrize("name", REPLIES)
def test_right_and_wrong_answers_can_be_heard_where_one_is_owed(name: str, context: Context) -> None:
    expected = answer_to(example(name), context.with_(position="inside_downwind"))
    graph = situation([expected], [expect(other, context) for other in CALLS])
    assert cannot_hear(graph, expected) == []


@pytest.mark.parametrize("name", CALLS)
def test_calls_of_another_place_can_be_heard_too(name: str, context: Context) -> None:
    due = "initial" if name != "initial" else "gear_report"
    graph = situation([expect(due, context)], [expect(other, context) for other in CALLS if other != due])
    assert graph.accepts(tokens(expect(name, context).model_call))


def test_nonsense_is_no_path(context: Context) -> None:
    graph = situation([expect("gear_report", context)], [])
    assert not graph.accepts(tokens("the weather is lovely"))


def test_short_names_are_of_calls_and_are_no_calls_themselves() -> None:
    assert SHORT_NAMES.keys().isdisjoint(CALLS)
    for short, name in SHORT_NAMES.items():
        assert call_kind(short) is CALLS[name]
