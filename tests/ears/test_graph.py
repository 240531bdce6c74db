"""The decoding graph: it says exactly what the situation and the loop allow, in a form that Vosk reads."""

import math
import random
import struct
from functools import cache

import pytest

from phraseology.wordgraph import Choice, Maybe, Say, Seq, WordAutomaton, automaton, sample
from trainer.ears.acoustic import BACKGROUND, load_acoustic
from trainer.ears.graph import LOOP_MARK, GraphWriter, Prices
from trainer.ears.model_files import SHIPPED_MODEL

PRICES = Prices(loop=5.0, word=3.0, background=2.0, silence=0.25)


@cache
def writer() -> GraphWriter:
    return GraphWriter(load_acoustic(SHIPPED_MODEL), PRICES)


class Machine:
    """OpenFst's `const` form, read back field by field."""

    def __init__(self, data: bytes) -> None:
        assert (
            data[:31] == struct.pack("<i", 2125659606) + b"\5\0\0\0const\x08\0\0\0standard" + b"\2\0\0\0\0\0"
        )
        self.start, states, arcs = struct.unpack_from("<qqq", data, 41)
        self.states = [struct.unpack_from("<fIIII", data, 65 + 20 * k) for k in range(states)]
        at = 65 + 20 * states
        self.arcs = [struct.unpack_from("<iifi", data, at + 16 * k) for k in range(arcs)]
        assert at + 16 * arcs == len(data)
        first = 0
        for _, begins, count, no_input, no_output in self.states:
            own = self.arcs[begins : begins + count]
            assert begins == first
            assert no_input == sum(arc[0] == 0 for arc in own)
            assert no_output == sum(arc[1] == 0 for arc in own)
            first += count
        assert first == arcs
        self.names = [line.split()[0] for line in writer().symbols.splitlines()]

    def out(self, state: int) -> list[tuple[int, int, float, int]]:
        _, begins, count, _, _ = self.states[state]
        return self.arcs[begins : begins + count]

    def cost(self, words: list[str]) -> float:
        """The cost of the cheapest way to say these labels, by Bellman-Ford over (state, words said)."""
        best = {(self.start, 0): 0.0}
        todo = [(self.start, 0)]
        while todo:
            state, said = todo.pop()
            for _, label, price, target in self.out(state):
                after = said + (label != 0)
                if label and (said == len(words) or self.names[label] != words[said]):
                    continue
                cost = best[state, said] + price
                if cost < best.get((target, after), math.inf) - 1e-6:
                    best[target, after] = cost
                    todo.append((target, after))
        ends = [cost + self.states[state][0] for (state, said), cost in best.items() if said == len(words)]
        return min(ends, default=math.inf)


EXPRESSION = Seq(
    (
        Maybe(Say.of("corbel tower"), skip=1.0),
        Choice((Say.of("sable two one"), Say.of("table two one")), (0.0, 2.5)),
        Maybe(Choice((Say.of("request closed"), Say.of("going around"))), take=0.5),
    )
)
SITUATION: WordAutomaton = automaton(EXPRESSION)


@cache
def machine() -> Machine:
    return Machine(writer().decoding_graph(SITUATION))


def test_every_call_of_the_situation_can_be_said() -> None:
    rng = random.Random(1)
    for _ in range(20):
        words = sample(EXPRESSION, rng)
        assert SITUATION.accepts(words)
        assert math.isfinite(machine().cost(words)), words


@pytest.mark.parametrize("text", ["sable two one one", "two one sable", "closed", "sable one two"])
def test_nothing_else_can_be_said_under_the_same_labels(text: str) -> None:
    assert not SITUATION.accepts(text.split())
    assert machine().cost(text.split()) == math.inf


def test_half_a_call_can_be_said_at_the_price_of_the_loop() -> None:
    half, followed = machine().cost(["sable", "two"]), machine().cost(["sable", "two", f"one{LOOP_MARK}"])
    word_alone = machine().cost([f"one{LOOP_MARK}"]) - PRICES.loop + math.log(1 - PRICES.silence)
    assert half == pytest.approx(followed - word_alone, abs=1e-3)


def test_the_automatons_costs_are_kept() -> None:
    right, wrong = machine().cost(["sable", "two", "one"]), machine().cost(["table", "two", "one"])
    spoken = machine().cost(["table", "two", "one", "going", "around"]) - wrong
    sounds = machine().cost([*["sable", "two", "one"], f"going{LOOP_MARK}", f"around{LOOP_MARK}"]) - right
    assert spoken - 0.5 == pytest.approx(sounds - PRICES.loop - 2 * PRICES.word, abs=1e-3)
    table, sable = (machine().cost([word + LOOP_MARK]) for word in ("table", "sable"))
    assert wrong - right == pytest.approx(2.5 + table - sable, abs=1e-3)


def test_the_whole_language_follows_in_any_order_and_at_any_point() -> None:
    loop = [word + LOOP_MARK for word in ["closed", "request", "heron", "uh"]]
    assert math.isfinite(machine().cost(loop))
    assert math.isfinite(machine().cost(["sable", "two", *loop]))
    assert math.isfinite(machine().cost([loop[0], BACKGROUND, *loop]))
    assert math.isfinite(machine().cost([BACKGROUND]))
    assert machine().cost([*loop, "sable"]) == math.inf, "nobody comes back out of the loop"


def test_saying_nothing_is_dearer_than_a_pause_but_possible() -> None:
    assert machine().cost([]) == pytest.approx(PRICES.loop - math.log(1 - PRICES.silence), abs=1e-4)


def test_free_steps_and_cycles_are_no_trouble() -> None:
    from phraseology.wordgraph import Arc

    around = WordAutomaton(3, 2, (Arc(0, 1, "one"), Arc(1, 0, None, 1.0), Arc(1, 2, None)))
    graph = Machine(writer().decoding_graph(around))
    once, twice, thrice = (graph.cost(["one"] * count) for count in (1, 2, 3))
    assert thrice - twice == pytest.approx(twice - once, abs=1e-4)


def test_the_same_situation_gives_the_same_bytes() -> None:
    fresh = GraphWriter(load_acoustic(SHIPPED_MODEL), PRICES)
    assert fresh.decoding_graph(SITUATION) == writer().decoding_graph(SITUATION)


def test_a_word_that_the_lexicon_lacks() -> None:
    with pytest.raises(KeyError, match="xylophone"):
        writer().decoding_graph(automaton(Say.of("sable xylophone")))
