"""The catalogue walked: in each standard every call and reply has its model, its rules and its way back."""

import pytest

from phraseology.assess import assess
from phraseology.calls import CALLS, SHORT_NAMES, TOWER_CALLS, call_kind, expect
from phraseology.elements import Kind
from phraseology.errors import PhraseologyError
from phraseology.example import example_context, example_message
from phraseology.expected import Context, Silence
from phraseology.parse import World, parse
from phraseology.readback import answer_to
from phraseology.render import say
from phraseology.replies import REPLIES, message, read_message, reply_kind, say_message
from phraseology.standards import STANDARDS, standard

HAS_CALLS = [
    (name, call) for name, each in STANDARDS.items() for call in CALLS if call not in each.without_calls
]
HAS_REPLIES = [
    (name, reply)
    for name, each in STANDARDS.items()
    for reply in REPLIES
    if reply not in each.without_replies
]

# -- models ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("where", "name"), HAS_CALLS)
def test_the_model_of_a_call_is_the_perfect_call(where: str, name: str) -> None:
    context = example_context(standard(where), name)
    for here in (
        context,
        context.with_(intention="full_stop", flight="2"),
        context.with_(callsign="ADZE 95", runway="26R"),
    ):
        expected = expect(name, here)
        assessment = assess(expected, expected.model_call)
        assert (assessment.score, assessment.accepted, assessment.faults) == (100, True, ())
        assert expected.given_away_by(parse(expected.model_call, here.world))


@pytest.mark.parametrize("name", CALLS)
def test_a_call_of_which_nothing_is_fixed_still_has_a_model(name: str, world: World) -> None:
    station = "corbel tower" if name in TOWER_CALLS else "corbel traffic"
    expected = expect(name, Context(standard("us_military_tower"), world, "SABLE 21", "31", station))
    begins = ("sable two one", f"{station}, sable two one", "mayday mayday mayday, sable two one")
    assert expected.model_call.startswith(begins)
    assert not assess(expected, expected.model_call).critical


@pytest.mark.parametrize(("where", "name"), HAS_REPLIES)
def test_the_model_answer_is_the_perfect_answer(where: str, name: str) -> None:
    here = example_context(standard(where)).with_(position="inside_downwind")
    expected = answer_to(example_message(name, here.standard), here)
    assessment = assess(expected, expected.model_call)
    assert (assessment.score, assessment.accepted, assessment.faults) == (100, True, ())


@pytest.mark.parametrize(("where", "name"), HAS_REPLIES)
def test_a_reply_is_read_back_as_itself_and_is_for_one_aircraft_only(where: str, name: str) -> None:
    context = example_context(standard(where))
    msg = example_message(name, context.standard)
    read = read_message(say_message(msg, context.standard), context.world)
    assert read == msg
    if msg.to == context.callsign:
        other = answer_to(read, context.with_(callsign="SABLE 12"))
        assert other.silence is Silence.REQUIRED
        assert other.model_call == ""
        assert assess(other, "").score == 100


def test_what_a_standard_lacks_is_in_the_catalogue_and_has_a_reason() -> None:
    for each in STANDARDS.values():
        assert set(each.without_calls) <= set(CALLS), each.name
        assert set(each.without_replies) <= set(REPLIES), each.name
        assert all(
            reason.endswith(")") for reason in (*each.without_calls.values(), *each.without_replies.values())
        )


def test_every_entry_says_what_it_is_for() -> None:
    for call in CALLS.values():
        assert call.when.endswith("."), call.name
        assert call.slips, call.name
    for reply in REPLIES.values():
        assert reply.do.endswith("."), reply.name


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


@pytest.mark.parametrize("name", STANDARDS)
def test_every_rule_of_a_standard_says_what_and_where_from(name: str) -> None:
    for key, rule in STANDARDS[name].rules.items():
        assert rule.text.endswith("."), key
        assert rule.source.strip(), key


@pytest.mark.parametrize("where", STANDARDS)
def test_every_slot_and_every_ban_rests_on_a_rule_of_the_standard(where: str) -> None:
    here = standard(where)
    rules = list(here.rules.values())
    expectations = [expect(name, example_context(here, name)) for name in CALLS]
    expectations += [answer_to(example_message(name, here), example_context(here)) for name in REPLIES]
    for expected in expectations:
        assert all(slot.rule in rules for slot in expected.slots), expected.name
        assert all(never.rule in rules for never in expected.never), expected.name
        judged = assess(expected, "heron one two uh with you gear down runway one three cleared to land")
        assert all(entry.rule in rules for entry in judged.elements), expected.name


def test_every_standard_has_the_same_rules() -> None:
    names = [set(each.rules) for each in STANDARDS.values()]
    assert all(each == names[0] for each in names)


def test_short_names_are_of_calls_and_are_no_calls_themselves() -> None:
    assert SHORT_NAMES.keys().isdisjoint(CALLS)
    for short, name in SHORT_NAMES.items():
        assert call_kind(short) is CALLS[name]
