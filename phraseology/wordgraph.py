"""Word automata: which word sequences a situation makes plausible, and at what price.

A situation is written as an expression of `Say`, `Seq`, `Choice` and `Maybe` and flattened by
`automaton` into states and arcs. Costs are negative natural logarithms of probabilities: 0 is
free, 2.3 is one in ten. Nothing here knows about sound; `trainer.ears` turns the arcs into a
decoding graph, or into a phrase list for a model with a grammar of its own.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Say:
    """These words, in this order."""

    words: tuple[str, ...]

    @classmethod
    def of(cls, text: str) -> "Say":
        return cls(tuple(text.split()))


@dataclass(frozen=True)
class Seq:
    """Each part after the other."""

    parts: tuple["Node", ...]


@dataclass(frozen=True)
class Choice:
    """One of the options; `costs` has one entry an option, or is empty for "all free"."""

    options: tuple["Node", ...]
    costs: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not self.options:
            raise ValueError("a choice needs at least one option")
        if self.costs and len(self.costs) != len(self.options):
            raise ValueError("a choice needs one cost an option, or none at all")

    def priced(self) -> Iterator[tuple["Node", float]]:
        yield from zip(self.options, self.costs or (0.0,) * len(self.options), strict=True)


@dataclass(frozen=True)
class Maybe:
    """The part, or nothing at the price of `skip`; saying it costs `take`."""

    part: "Node"
    skip: float = 0.0
    take: float = 0.0


@dataclass(frozen=True)
class Many:
    """The part once or more often; `again` is the price of every further time. The part must say a word."""

    part: "Node"
    again: float = 0.0


Node = Say | Seq | Choice | Maybe | Many


@dataclass(frozen=True)
class Arc:
    """From state to state by a word; `word` None is a free step."""

    source: int
    target: int
    word: str | None
    cost: float = 0.0


@dataclass(frozen=True)
class WordAutomaton:
    """States 0..`states`-1, start 0, one final state; the arcs in no particular order."""

    states: int
    final: int
    arcs: tuple[Arc, ...]

    @property
    def words(self) -> frozenset[str]:
        return frozenset(arc.word for arc in self.arcs if arc.word is not None)

    def accepts(self, words: Sequence[str]) -> bool:
        """True if some path says exactly these words."""
        by_source: dict[int, list[Arc]] = {}
        for arc in self.arcs:
            by_source.setdefault(arc.source, []).append(arc)

        def closure(states: set[int]) -> set[int]:
            todo = list(states)
            while todo:
                for arc in by_source.get(todo.pop(), ()):
                    if arc.word is None and arc.target not in states:
                        states.add(arc.target)
                        todo.append(arc.target)
            return states

        here = closure({0})
        for word in words:
            here = closure(
                {arc.target for state in here for arc in by_source.get(state, ()) if arc.word == word}
            )
        return self.final in here


def automaton(node: Node) -> WordAutomaton:
    """Flatten an expression into states and arcs."""
    arcs: list[Arc] = []
    count = 1

    def state() -> int:
        nonlocal count
        count += 1
        return count - 1

    def build(part: Node, source: int, target: int, cost: float) -> None:
        match part:
            case Say(words):
                here = source
                for word in words[:-1]:
                    following = state()
                    arcs.append(Arc(here, following, word, cost))
                    here, cost = following, 0.0
                arcs.append(Arc(here, target, words[-1] if words else None, cost))
            case Seq(parts):
                here = source
                for inner in parts[:-1]:
                    following = state()
                    build(inner, here, following, cost)
                    here, cost = following, 0.0
                if parts:
                    build(parts[-1], here, target, cost)
                else:
                    arcs.append(Arc(here, target, None, cost))
            case Choice():
                for option, price in part.priced():
                    build(option, source, target, cost + price)
            case Maybe(inner, skip, take):
                arcs.append(Arc(source, target, None, cost + skip))
                build(inner, source, target, cost + take)
            case Many(inner, again):
                first, last = state(), state()
                arcs.append(Arc(source, first, None, cost))
                build(inner, first, last, 0.0)
                arcs.append(Arc(last, first, None, again))
                arcs.append(Arc(last, target, None))

    final = state()
    build(node, 0, final, 0.0)
    return WordAutomaton(count, final, tuple(arcs))


def sample(node: Node, rng: random.Random) -> list[str]:
    """One word sequence of the expression, every choice equally likely."""
    match node:
        case Say(words):
            return list(words)
        case Seq(parts):
            return [word for part in parts for word in sample(part, rng)]
        case Choice():
            return sample(rng.choice(node.options), rng)
        case Maybe(part):
            return sample(part, rng) if rng.random() < 0.5 else []
        case Many(part):
            times = 1 + (rng.random() < 0.5)
            return [word for _ in range(times) for word in sample(part, rng)]


def without(graph: WordAutomaton, words: frozenset[str]) -> WordAutomaton:
    """The automaton without the arcs of these words: what a recogniser that lacks them can still hear."""
    return WordAutomaton(graph.states, graph.final, tuple(a for a in graph.arcs if a.word not in words))


def walk(graph: WordAutomaton, rng: random.Random) -> list[str]:
    """The words of one way through the automaton, a cheaper arc being the likelier."""
    by_source: dict[int, list[Arc]] = {}
    for arc in graph.arcs:
        by_source.setdefault(arc.source, []).append(arc)
    words: list[str] = []
    here = 0
    while here != graph.final:
        ways = by_source[here]
        arc = rng.choices(ways, [math.exp(-way.cost) for way in ways])[0]
        if arc.word is not None:
            words.append(arc.word)
        here = arc.target
    return words
