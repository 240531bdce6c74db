"""Sentences of a word automaton, for a model that makes its own grammar of them.

Vosk turns a list of phrases into a bigram model, so all that counts is which word may follow which: the
sentences cover each such pair of the automaton at least once, and each word that may begin or end.
"""

import heapq
from collections import defaultdict

from phraseology.wordgraph import Arc, WordAutomaton

Words = tuple[str, ...]


def _shortest(start: int, arcs: dict[int, list[Arc]], backwards: bool) -> dict[int, Words]:
    """For each state that can be reached, the words of a shortest way there."""
    found: dict[int, Words] = {}
    heap: list[tuple[int, Words, int]] = [(0, (), start)]
    while heap:
        _, words, state = heapq.heappop(heap)
        if state in found:
            continue
        found[state] = words
        for arc in arcs[state]:
            said = () if arc.word is None else (arc.word,)
            way = said + words if backwards else words + said
            heapq.heappush(heap, (len(way), way, arc.source if backwards else arc.target))
    return found


def covering_sentences(situation: WordAutomaton) -> list[str]:
    """Few sentences with all the automaton's pairs of words."""
    leaving: dict[int, list[Arc]] = defaultdict(list)
    entering: dict[int, list[Arc]] = defaultdict(list)
    for arc in situation.arcs:
        leaving[arc.source].append(arc)
        entering[arc.target].append(arc)
    before = _shortest(0, leaving, backwards=False)
    after = _shortest(situation.final, entering, backwards=True)

    follow = _following(leaving)
    covered: set[tuple[str, str]] = set()
    sentences = []

    def cover(words: Words) -> None:
        covered.update(zip(("", *words), (*words, ""), strict=True))
        sentences.append(" ".join(words))

    for first in situation.arcs:
        if first.word is None or first.source not in before:
            continue
        head = (*before[first.source], first.word)
        if first.target in after:
            whole = (*head, *after[first.target])
            if not covered >= {("", whole[0]), (whole[-1], "")}:
                cover(whole)
        for second in follow[first.target]:
            if second.target in after and (first.word, second.word) not in covered:
                cover((*head, str(second.word), *after[second.target]))
    return sentences


def _following(leaving: dict[int, list[Arc]]) -> dict[int, list[Arc]]:
    """For each state, the arcs with a word that can come next, free steps or none in between."""
    follow: dict[int, list[Arc]] = defaultdict(list)
    for state in list(leaving):
        reached, todo = {state}, [state]
        while todo:
            for arc in leaving.get(todo.pop(), ()):
                if arc.word is not None:
                    follow[state].append(arc)
                elif arc.target not in reached:
                    reached.add(arc.target)
                    todo.append(arc.target)
    return follow
