"""May the trainee be done? What a situation's automaton says of the words so far.

The prices of the automaton decide: what it costs to have ended here, against the cheapest call that goes
on from here. The loose loop over all phrases makes nearly everything an end, but a dear one, and nearly
everything a beginning, but a dear one too; so it decides nothing where a sentence of the situation fits.
"""

import heapq
import math
from collections.abc import Sequence
from enum import StrEnum

from phraseology.wordgraph import Arc, WordAutomaton

FOLLOWS = 2.5
"""What costs more than the end by this does not follow: one in twelve. Above the price of an element that may
be left out or said, below that of two phrases in an order that nobody foresaw."""
LACKS = 1.5
"""Where going on is cheaper than the end by more than this, something is still to come. Below the price of
leaving an element out, and below that of the shorter call of another kind (`phraseology.situation`)."""

_Costs = dict[int, float]  # of states
_Steps = dict[int, list[tuple[int, float]]]  # from a state: where to, and at what price


class Ending(StrEnum):
    """How the words so far stand in the situation."""

    COMPLETE = "complete"  # a whole call, and nothing is likely to follow
    OPEN = "open"  # a whole call that may go on; also what the situation does not hold, and no words at all
    MIDDLE = "middle"  # in the middle of an element, or before one that the call must have


def ending(automaton: WordAutomaton, words: Sequence[str]) -> Ending:
    """How `words` stand in the automaton. For many questions to one automaton, keep an `Endings`."""
    return Endings(automaton).after(words)


class Endings:
    """Answers for one automaton; words that go on from those asked about last cost only their own steps."""

    def __init__(self, automaton: WordAutomaton) -> None:
        self._final = automaton.final
        self._free: _Steps = {}
        self._said: dict[int, list[Arc]] = {}
        for arc in automaton.arcs:
            if arc.word is None:
                self._free.setdefault(arc.source, []).append((arc.target, arc.cost))
            else:
                self._said.setdefault(arc.source, []).append(arc)
        self._to_end = _costs_to(automaton)
        self._words: list[str] = []
        self._reached: list[_Costs] = [_cheapest({0: 0.0}, self._free)]  # after none, one, two ... words

    def after(self, words: Sequence[str]) -> Ending:
        if not words:
            return Ending.OPEN
        here = self._follow(words)
        end = here.get(self._final, math.inf)
        onward = min(
            (
                cost + arc.cost + self._to_end.get(arc.target, math.inf)
                for state, cost in here.items()
                for arc in self._said.get(state, ())
            ),
            default=math.inf,
        )
        if math.isinf(end) and math.isinf(onward):
            return Ending.OPEN
        if end > onward + LACKS:
            return Ending.MIDDLE
        return Ending.OPEN if onward < end + FOLLOWS else Ending.COMPLETE

    def _follow(self, words: Sequence[str]) -> _Costs:
        """The cheapest price of each state that these words lead to."""
        same = 0
        while same < min(len(words), len(self._words)) and words[same] == self._words[same]:
            same += 1
        del self._words[same:], self._reached[same + 1 :]
        for word in words[same:]:
            costs: _Costs = {}
            for state, cost in self._reached[-1].items():
                for arc in self._said.get(state, ()):
                    if arc.word == word and cost + arc.cost < costs.get(arc.target, math.inf):
                        costs[arc.target] = cost + arc.cost
            self._words.append(word)
            self._reached.append(_cheapest(costs, self._free))
        return self._reached[-1]


def _costs_to(automaton: WordAutomaton) -> _Costs:
    """For each state, the price of the cheapest way to the end."""
    back: _Steps = {}
    for arc in automaton.arcs:
        back.setdefault(arc.target, []).append((arc.source, arc.cost))
    return _cheapest({automaton.final: 0.0}, back)


def _cheapest(start: _Costs, steps: _Steps) -> _Costs:
    """Dijkstra's shortest paths from several states that have a price already."""
    best = dict(start)
    heap = [(cost, state) for state, cost in start.items()]
    heapq.heapify(heap)
    while heap:
        cost, state = heapq.heappop(heap)
        if cost > best[state]:
            continue
        for target, price in steps.get(state, ()):
            if cost + price < best.get(target, math.inf):
                best[target] = cost + price
                heapq.heappush(heap, (cost + price, target))
    return best
