"""State graphs in the form that the objective counts with: for each state, who leads to it and how likely.

A state here emits: being in it at a frame means that the frame is scored by its output. Probabilities are those of
the topology; between words there is a pause with the probability `PAUSE`, as in the decoding graph.
"""

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.ears.acoustic import SILENCE, Pronunciation
from trainer.ears.training.lexicon import NOISE, PHONES, Lexicon
from trainer.ears.training.topology import PDFS, pdf_of, phone_numbers, transition_model

PAUSE = 0.3


@dataclass(frozen=True)
class Graph:
    """`before[s]` are the states that lead to s, `weights[s]` how likely (0: no arc); `first` and `last` are the
    probabilities of beginning and ending in a state."""

    pdfs: NDArray[np.int16]
    before: NDArray[np.int32]
    weights: NDArray[np.float32]
    first: NDArray[np.float32]
    last: NDArray[np.float32]


@dataclass(frozen=True)
class _Phone:
    pdfs: tuple[int, ...]
    steps: tuple[tuple[tuple[int, float], ...], ...]
    """For each state, where it leads and how likely; one past the last state is the way out."""


def _phones() -> dict[str, _Phone]:
    model, numbers = transition_model(), phone_numbers()
    found = {}
    for name in (SILENCE, NOISE, *PHONES):
        states = model.phones[numbers.get(name) or numbers[f"{name}_S"]][:-1]
        steps = tuple(tuple((way.target, float(np.exp(-way.cost))) for way in state) for state in states)
        found[name] = _Phone(tuple(pdf_of(name, state) for state in range(len(states))), steps)
    return found


_PHONES = _phones()
_Ends = list[tuple[int, float]]
"""States, or `_START`, each with the probability of leaving it."""
_START = -1


class _Builder:
    def __init__(self) -> None:
        self.pdfs: list[int] = []
        self.arcs: list[tuple[int, int, float]] = []

    def phone(self, name: str, entries: _Ends) -> _Ends:
        phone, base = _PHONES[name], len(self.pdfs)
        self.pdfs += phone.pdfs
        self.arcs += [(source, base, weight) for source, weight in entries]
        ends: _Ends = []
        for state, steps in enumerate(phone.steps):
            for target, probability in steps:
                if target == len(phone.steps):
                    ends.append((base + state, probability))
                else:
                    self.arcs.append((base + state, base + target, probability))
        return ends

    def way(self, phones: Pronunciation, entries: _Ends) -> _Ends:
        for phone in phones:
            entries = self.phone(phone, entries)
        return entries

    def pause(self, entries: _Ends) -> _Ends:
        into = [(source, weight * PAUSE) for source, weight in entries]
        past = [(source, weight * (1 - PAUSE)) for source, weight in entries]
        return past + self.phone(SILENCE, into)

    def graph(self, ends: _Ends) -> Graph:
        count = len(self.pdfs)
        leading: list[_Ends] = [[] for _ in range(count)]
        first, last = np.zeros(count, np.float32), np.zeros(count, np.float32)
        for source, target, weight in self.arcs:
            if source == _START:
                first[target] += weight
            else:
                leading[target].append((source, weight))
        for source, weight in ends:
            last[source] += weight
        most = max(len(arcs) for arcs in leading)
        before, weights = np.zeros((count, most), np.int32), np.zeros((count, most), np.float32)
        for state, arcs in enumerate(leading):
            for place, (source, weight) in enumerate(arcs):
                before[state, place], weights[state, place] = source, weight
        return Graph(np.array(self.pdfs, np.int16), before, weights, first, last)


def graph_of(labels: Sequence[str], lexicon: Lexicon) -> Graph:
    """All ways to say these words, with or without pauses."""
    builder = _Builder()
    ends = builder.pause([(_START, 1.0)])
    for label in labels:
        said: _Ends = []
        for way in lexicon.ways[label]:
            said += builder.way(way, ends)
        ends = builder.pause(said)
    return builder.graph([(source, weight) for source, weight in ends if source != _START])


def phone_bigram(texts: Iterable[Sequence[str]], lexicon: Lexicon) -> NDArray[np.float32]:
    """Which phone follows which in these labels, as one matrix [PDFS + 1, PDFS + 1] from output to output.

    Index PDFS is the beginning as a source and the end as a target. Every pair has a little probability.
    """
    names = list(_PHONES)
    number = {name: place for place, name in enumerate(names)}
    edge = len(names)
    counts = np.full((edge + 1, edge + 1), 0.2)
    silence = number[SILENCE]
    for labels in texts:
        here: dict[int, float] = {edge: 1 - PAUSE, silence: PAUSE}
        counts[edge, silence] += PAUSE
        for label in labels:
            ways = lexicon.ways[label]
            after: dict[int, float] = {}
            for way in ways:
                phones = [number[phone] for phone in way]
                for source, weight in here.items():
                    counts[source, phones[0]] += weight / len(ways)
                for source, target in itertools.pairwise(phones):
                    counts[source, target] += 1 / len(ways)
                after[phones[-1]] = after.get(phones[-1], 0.0) + 1 / len(ways)
            for source, weight in after.items():
                counts[source, silence] += PAUSE * weight
            here = {source: (1 - PAUSE) * weight for source, weight in after.items()} | {silence: PAUSE}
        for source, weight in here.items():
            counts[source, edge] += weight
    counts[edge, edge] = 0.0  # something is always said
    follow = counts / counts.sum(1, keepdims=True)
    matrix = np.zeros((PDFS + 1, PDFS + 1))
    for name, phone in _PHONES.items():
        onward = follow[number[name]]
        for state, steps in enumerate(phone.steps):
            for target, probability in steps:
                if target < len(phone.steps):
                    matrix[phone.pdfs[state], phone.pdfs[target]] += probability
                    continue
                for other, next_phone in _PHONES.items():
                    matrix[phone.pdfs[state], next_phone.pdfs[0]] += probability * onward[number[other]]
                matrix[phone.pdfs[state], PDFS] += probability * onward[edge]
    for other, next_phone in _PHONES.items():
        matrix[PDFS, next_phone.pdfs[0]] = follow[edge, number[other]]
    return matrix.astype(np.float32)


@dataclass(frozen=True)
class Loop:
    """All words over and over. `enter[s]` is the probability of a word beginning in s, `leave[s]` of ending from s;
    state 0 is the pause between words. Within words as in `Graph`."""

    pdfs: NDArray[np.int16]
    before: NDArray[np.int32]
    weights: NDArray[np.float32]
    enter: NDArray[np.float32]
    leave: NDArray[np.float32]


def word_loop(counts: Mapping[str, int], lexicon: Lexicon) -> Loop:
    """The loop over the lexicon; a word is as likely as the root of how often it is said."""
    builder = _Builder()
    builder.phone(SILENCE, [])
    priors = {word: float(np.sqrt(1 + counts.get(word, 0))) for word in lexicon.ways}
    total = sum(priors.values())
    entries: list[tuple[int, float]] = []
    ends: _Ends = []
    for word, ways in lexicon.ways.items():
        for way in ways:
            entries.append((len(builder.pdfs), priors[word] / total / len(ways)))
            ends += builder.way(way, [])
    graph = builder.graph(ends)
    enter = np.zeros(len(graph.pdfs), np.float32)
    for state, probability in entries:
        enter[state] = probability
    return Loop(graph.pdfs, graph.before, graph.weights, enter, graph.last)
