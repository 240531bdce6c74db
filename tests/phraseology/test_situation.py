"""What can be heard where a call or an answer is due: every right and wrong form of it, and nothing unreadable."""

import random
from collections.abc import Iterator

import pytest

from phraseology.calls import CALLS, TOWER_CALLS, expect
from phraseology.elements import Kind, Severity
from phraseology.example import example_context, example_message
from phraseology.expected import Context, Expected, Slot
from phraseology.lexicon import pronunciations
from phraseology.parse import parse
from phraseology.readback import answer_to
from phraseology.render import say
from phraseology.replies import REPLIES
from phraseology.situation import MOST_ARCS, situation
from phraseology.standards import STANDARDS, standard
from phraseology.wordgraph import WordAutomaton, walk
from phraseology.words import tokens

ANOTHER = {
    Kind.STATION: "tower",
    Kind.WHERE: "7 northeast",
    Kind.POSITION: "outside_downwind",
    Kind.DISTANCE: "4",
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
    Kind.QNH: "998",
    Kind.HEADING: "220",
    Kind.SPEED: "180",
    Kind.FREQUENCY: "119.5",
    Kind.CLOSED: "approved",
    Kind.BREAK: "departure_end",
    Kind.CONDITION: "after HERON 42",
    Kind.ACTION: "breaking_out",
    Kind.HOLD: "SILO",
    Kind.REPORT: "SILO",
    Kind.SEQUENCE: "3",
    Kind.FOLLOW: "fast_jet initial",
    Kind.TRAFFIC: "not_in_sight",
    Kind.FUEL: "35",
    Kind.SOULS: "1",
    Kind.NATURE: "bird_strike",
    Kind.EMERGENCY: "pan_pan",
    Kind.READABILITY: "3",
    Kind.QUERY: "say_position",
}
"""A wrong value of each kind, as somebody would say it."""

HAS_CALLS = [
    (name, call) for name, each in STANDARDS.items() for call in CALLS if call not in each.without_calls
]
HAS_REPLIES = [
    (name, reply)
    for name, each in STANDARDS.items()
    for reply in REPLIES
    if reply not in each.without_replies
]


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


def due(name: str, where: str) -> tuple[Expected, WordAutomaton]:
    """A call, and the situation where it is due."""
    context = example_context(standard(where), name)
    expected = expect(name, context)
    others = [expect(other, context) for other in TOWER_CALLS if other != name]
    return expected, situation([expected], others)


def owed(name: str, where: str) -> tuple[Expected, WordAutomaton]:
    """The answer to a reply, and the situation where it is owed."""
    context = example_context(standard(where)).with_(position="inside_downwind")
    expected = answer_to(example_message(name, context.standard), context)
    return expected, situation([expected], [expect(other, context) for other in TOWER_CALLS])


@pytest.mark.parametrize(("where", "name"), HAS_CALLS)
def test_right_and_wrong_calls_can_be_heard_where_the_call_is_due(where: str, name: str) -> None:
    expected, graph = due(name, where)
    assert cannot_hear(graph, expected) == []


@pytest.mark.parametrize(("where", "name"), HAS_REPLIES)
def test_right_and_wrong_answers_can_be_heard_where_one_is_owed(where: str, name: str) -> None:
    expected, graph = owed(name, where)
    assert cannot_hear(graph, expected) == []


@pytest.mark.parametrize("name", TOWER_CALLS)
def test_calls_of_another_place_can_be_heard_too(name: str) -> None:
    context = example_context(standard("us_military_tower"), name)
    here = "initial" if name != "initial" else "gear_report"
    others = [expect(other, context) for other in TOWER_CALLS if other != here]
    graph = situation([expect(here, context)], others)
    assert graph.accepts(tokens(expect(name, context).model_call))


def test_nonsense_is_no_path() -> None:
    _, graph = due("gear_report", "us_military_tower")
    assert not graph.accepts(tokens("the weather is lovely"))


@pytest.mark.parametrize(("where", "name"), HAS_CALLS)
def test_a_walk_through_a_situation_says_only_what_can_be_read(where: str, name: str) -> None:
    expected, graph = due(name, where)
    rng = random.Random(f"{where} {name}")
    for words in (walk(graph, rng) for _ in range(40)):
        leftover = parse(" ".join(words), expected.context.world).leftover
        assert not leftover, " ".join(words)


@pytest.mark.parametrize(("where", "name"), HAS_REPLIES)
def test_a_walk_through_answers_says_only_what_can_be_read(where: str, name: str) -> None:
    expected, graph = owed(name, where)
    rng = random.Random(f"{where} {name}")
    for words in (walk(graph, rng) for _ in range(20)):
        leftover = parse(" ".join(words), expected.context.world).leftover
        assert not leftover, " ".join(words)


@pytest.mark.parametrize("where", STANDARDS)
def test_a_situation_stays_small_and_every_word_of_it_has_a_sound(where: str) -> None:
    here = [due(call, where)[1] for standard_name, call in HAS_CALLS if standard_name == where]
    here += [owed(reply, where)[1] for standard_name, reply in HAS_REPLIES if standard_name == where]
    assert max(len(graph.arcs) for graph in here) <= MOST_ARCS
    words = frozenset[str]().union(*(graph.words for graph in here))
    assert sorted(word for word in words if not pronunciations(word)) == []


def test_a_situation_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one call"):
        situation([], [])
