"""Sentences for a model that makes its own grammar: all pairs of words of the situation, no others."""

import random

from hypothesis import given
from hypothesis import strategies as st

from phraseology.wordgraph import Choice, Maybe, Node, Say, Seq, WordAutomaton, automaton, sample
from trainer.ears.phrases import covering_sentences

_words = st.lists(st.sampled_from(["one", "two", "three"]), min_size=1, max_size=3).map(
    lambda w: Say(tuple(w))
)
_nodes: st.SearchStrategy[Node] = st.recursive(
    _words,
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Seq(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Choice(tuple(parts))),
        inner.map(lambda part: Maybe(part, skip=1.0)),
    ),
    max_leaves=8,
)


def _pairs(words: list[str]) -> set[tuple[str, str]]:
    return set(zip(["", *words], [*words, ""], strict=True)) if words else set()


@given(_nodes, st.integers(0, 2**32))
def test_sentences_are_of_the_situation_and_cover_its_pairs(node: Node, seed: int) -> None:
    situation = automaton(node)
    sentences = [sentence.split() for sentence in covering_sentences(situation)]
    assert all(situation.accepts(sentence) for sentence in sentences)
    covered = {pair for sentence in sentences for pair in _pairs(sentence)}
    rng = random.Random(seed)
    for _ in range(10):
        assert _pairs(sample(node, rng)) <= covered


def test_there_are_few(situation: WordAutomaton) -> None:
    sentences = covering_sentences(situation)
    pairs = {pair for sentence in sentences for pair in _pairs(sentence.split())}
    assert len(sentences) <= len(pairs)


def test_words_that_lead_nowhere_give_no_sentence() -> None:
    from phraseology.wordgraph import Arc

    assert covering_sentences(WordAutomaton(3, 2, (Arc(0, 1, "one"),))) == []
