"""The decoding graph of a situation: every word a chain of transition ids, written at run time.

Beside the calls of the situation stands the whole language, a loop over all words of the lexicon,
under labels of its own (`word~`), so that the path taken is known. It is entered at a price, before
the first word or after any other: a right callsign may be followed by what nobody foresaw, or by
nothing where a call breaks off.
Background in it takes in noise and talk that is not of the trade.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from phraseology.wordgraph import WordAutomaton
from trainer.ears.acoustic import BACKGROUND, SILENCE, Acoustic
from trainer.ears.openfst import ARC, const_fst

LOOP_MARK = "~"
"""Ends the label of a word that was heard in the loop over the whole language."""

_EXIT = -1  # as the target of an arc inside a chain: whatever comes after the chain


@dataclass(frozen=True)
class Prices:
    """Costs, negative natural logarithms in the units of the scaled acoustic scores.

    `loop`: for entering the whole language; `word`: for each word there; `background`: for each stretch of
    background there; `silence`: the probability of a pause between two words. A cheap background makes
    very many equally good readings of plain talk: at -1 Vosk took 3 s a clip, at 3 and above 0.3 s or less.
    """

    loop: float = 6.0
    word: float = 6.0
    background: float = 4.0
    silence: float = 0.3


@dataclass(frozen=True)
class _Chain:
    """The states of one word, numbered from 0; `heads` are the arcs that lead in."""

    heads: NDArray[np.void]
    counts: NDArray[np.int32]
    arcs: NDArray[np.void]


@dataclass(frozen=True)
class _Span:
    """A chain between two junctions."""

    source: int
    target: int
    chain: _Chain
    cost: float
    label: int


@dataclass(frozen=True)
class _Part:
    """A piece of graph: its states from 0 on, with their arcs in order."""

    counts: NDArray[np.int32]
    arcs: NDArray[np.void]


def _chain(acoustic: Acoustic, spoken: Sequence[tuple[int, ...]]) -> _Chain:
    """The chain of a word that is spoken in any of these ways.

    Kaldi's "reorder" placement of self-loops: what stays in a state comes after the step out of it, on the
    state that the step leads to. A state here is therefore where a step (from, to) of a phone has led.
    """
    heads: list[tuple[int, int, float, int]] = []
    arcs: list[list[tuple[int, int, float, int]]] = []
    for phones in spoken:
        entries = [heads]  # the arc lists from which the next phone is entered
        for phone in phones:
            states = acoustic.transitions.phones[phone]
            steps = [
                (state, step) for state, ways in enumerate(states) for step in ways if step.target != state
            ]
            number = {(state, step.target): len(arcs) + k for k, (state, step) in enumerate(steps)}
            arcs.extend([] for _ in number)
            leaving: list[list[tuple[int, int, float, int]]] = []
            for (source, here), index in number.items():
                arcs[index] += [(s.id, 0, s.cost, index) for s in states[source] if s.target == source]
                arcs[index] += [
                    (s.id, 0, s.cost, number[here, s.target]) for s in states[here] if s.target != here
                ]
                if not states[here]:
                    leaving.append(arcs[index])
            for entry in entries:
                entry += [(s.id, 0, s.cost, number[0, s.target]) for s in states[0] if s.target != 0]
            entries = leaving
        for entry in entries:
            entry.append((0, 0, 0.0, _EXIT))
    counts = np.array([len(out) for out in arcs], np.int32)
    return _Chain(np.array(heads, ARC), counts, np.array([arc for out in arcs for arc in out], ARC))


def _joined(parts: Sequence[NDArray[np.void]]) -> NDArray[np.void]:
    """Concatenated as plain numbers: otherwise numpy compares the fields part by part, which takes long."""
    return np.concatenate([part.view(np.int32) for part in parts]).view(ARC)


def _assemble(junctions: int, spans: Sequence[_Span], steps: Sequence[tuple[int, int, float]]) -> _Part:
    """Junctions 0..`junctions`-1, then the chains' states; `steps` are free arcs between junctions."""
    sizes = np.array([len(span.chain.counts) for span in spans])
    offsets = junctions + np.cumsum(sizes) - sizes

    def spread(values: Sequence[float] | NDArray[np.int_], lengths: list[int]) -> NDArray[np.float64]:
        return np.repeat(np.asarray(values), lengths)

    lengths = [len(span.chain.heads) for span in spans]
    heads = _joined([span.chain.heads for span in spans])
    heads["target"] += spread(offsets, lengths)
    heads["output"] = spread([span.label for span in spans], lengths)
    heads["weight"] += spread([span.cost for span in spans], lengths)
    free = np.array([(0, 0, cost, target) for _, target, cost in steps], ARC)
    sources = np.concatenate(
        [spread([span.source for span in spans], lengths), np.array([step[0] for step in steps], int)]
    )
    at_junctions = _joined([heads, free])[np.argsort(sources, kind="stable")]

    lengths = [len(span.chain.arcs) for span in spans]
    inner = _joined([span.chain.arcs for span in spans])
    leaves = inner["target"] == _EXIT
    inner["target"] = np.where(
        leaves, spread([span.target for span in spans], lengths), inner["target"] + spread(offsets, lengths)
    )
    outgoing = np.bincount(sources, minlength=junctions).astype(np.int32)
    counts = np.concatenate([outgoing, *(span.chain.counts for span in spans)])
    return _Part(counts, _joined([at_junctions, inner]))


class GraphWriter:
    """Writes decoding graphs for one acoustic model; keeps the chains of the words it has met."""

    def __init__(self, acoustic: Acoustic, prices: Prices = Prices()) -> None:
        self._acoustic = acoustic
        self._prices = prices
        self._number = {word: number for number, word in enumerate(acoustic.words)}
        self._chains: dict[str, _Chain] = {}

    @cached_property
    def symbols(self) -> str:
        """The text of `graph/words.txt` that belongs to the graphs written here."""
        words = self._acoustic.words
        names = [*words, *(word + LOOP_MARK for word in words[1:])]
        return "".join(f"{name} {number}\n" for number, name in enumerate(names))

    def decoding_graph(self, situation: WordAutomaton) -> bytes:
        """An OpenFst file for `graph/HCLG.fst`; KeyError if the lexicon lacks a word of the situation."""
        spans, steps = [], []
        for arc in situation.arcs:
            if arc.word is None:
                steps.append((2 * arc.source + 1, 2 * arc.target + 1, arc.cost))
            else:
                chain, label = self._word(arc.word), self._number[arc.word]
                spans.append(_Span(2 * arc.source + 1, 2 * arc.target, chain, arc.cost, label))
        for state in range(situation.states):
            self._pause(state, spans, steps)
        junctions = 2 * situation.states
        size = junctions + sum(len(span.chain.counts) for span in spans)
        steps += [(2 * state + 1, size + 1, self._prices.loop) for state in range(situation.states)]
        calls, loop = _assemble(junctions, spans, steps), self._loop
        moved = loop.arcs.copy()
        moved["target"] += size
        counts = np.concatenate([calls.counts, loop.counts])
        final = np.full(len(counts), math.inf, np.float32)
        final[[2 * situation.final + 1, size + 1]] = 0.0
        return const_fst(0, final, counts, _joined([calls.arcs, moved]))

    @cached_property
    def _loop(self) -> _Part:
        """All words and background over and over; junction 1 is both its way in and its end."""
        spans, steps = [], []  # type: list[_Span], list[tuple[int, int, float]]
        for word in self._acoustic.lexicon:
            label, cost = self._number[word], self._prices.background
            if word != BACKGROUND:
                label, cost = label + len(self._acoustic.words) - 1, self._prices.word
            spans.append(_Span(1, 0, self._word(word), cost, label))
        self._pause(0, spans, steps)
        return _assemble(2, spans, steps)

    def _pause(self, state: int, spans: list[_Span], steps: list[tuple[int, int, float]]) -> None:
        """A word ends at the junction 2*state; the next begins at 2*state+1, after a pause or at once."""
        probability = self._prices.silence
        steps.append((2 * state, 2 * state + 1, -math.log(1 - probability)))
        spans.append(_Span(2 * state, 2 * state + 1, self._silence, -math.log(probability), 0))

    @cached_property
    def _silence(self) -> _Chain:
        return _chain(self._acoustic, [(self._acoustic.phone_numbers[SILENCE],)])

    def _word(self, word: str) -> _Chain:
        if word not in self._chains:
            ways = self._acoustic.lexicon[word]
            self._chains[word] = _chain(self._acoustic, [self._acoustic.in_place(way) for way in ways])
        return self._chains[word]
