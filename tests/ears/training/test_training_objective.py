"""Forward-backward against every path counted one by one, and the gradient against differences."""

import itertools
import math

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from trainer.ears.acoustic import BACKGROUND  # noqa: E402
from trainer.ears.training.hmm import Graph, graph_of, phone_bigram, word_loop  # noqa: E402
from trainer.ears.training.lexicon import NOISE, Lexicon  # noqa: E402
from trainer.ears.training.objective import (  # noqa: E402
    Numerators,
    WordLoop,
    discrimination,
    numerator,
    phone_denominator,
)
from trainer.ears.training.topology import PDFS, pdf_of  # noqa: E402

LEXICON = Lexicon({"no": (("N", "OW"),), "a": (("AH",), ("EY",)), BACKGROUND: ((NOISE,),)})
CPU = torch.device("cpu")


def some_scores(clips: int, frames: int, seed: int = 0) -> "torch.Tensor":
    generator = torch.Generator().manual_seed(seed)
    return (2 * torch.randn(clips, frames, PDFS, generator=generator)).log_softmax(-1)


def counted(graph: Graph, scores: np.ndarray) -> float:
    """The log likelihood, path by path."""
    total = 0.0
    states = range(len(graph.pdfs))
    for path in itertools.product(states, repeat=len(scores)):
        probability = float(graph.first[path[0]] * graph.last[path[-1]])
        for source, target in itertools.pairwise(path):
            probability *= float(graph.weights[target][graph.before[target] == source].sum())
        if probability:
            heard = sum(scores[frame, graph.pdfs[state]] for frame, state in enumerate(path))
            total += probability * math.exp(heard)
    return math.log(total)


def test_numerator_counts_every_path() -> None:
    graphs = [graph_of(["a"], LEXICON), graph_of(["no"], LEXICON)]
    scores = some_scores(2, 4)
    logs, use = numerator(scores, Numerators.of(graphs, CPU))
    for clip, graph in enumerate(graphs):
        assert math.isclose(float(logs[clip]), counted(graph, scores[clip].numpy()), abs_tol=1e-4)
    assert torch.allclose(use.sum(-1), torch.ones(2, 4), atol=1e-5)
    said = {pdf_of(phone, state) for phone in ("N", "OW") for state in (0, 1)} | {0}
    assert set(use[1].sum(0).nonzero()[:, 0].tolist()) <= said


def test_a_word_must_be_said_whole() -> None:
    """ "no" is two phones and so two frames at least: in one frame it cannot be."""
    logs, _ = numerator(some_scores(1, 1), Numerators.of([graph_of(["no"], LEXICON)], CPU))
    assert float(logs) < -60


def test_the_word_loop_is_the_sum_over_its_sentences() -> None:
    """In three frames the sentences of up to three words are all there is."""
    scores = some_scores(1, 3, seed=2)
    logs, use = WordLoop(word_loop({}, LEXICON), CPU)(scores)
    total = 0.0
    for count in (1, 2, 3):
        for words in itertools.product(LEXICON.ways, repeat=count):
            graph = graph_of(words, LEXICON)
            prior = math.prod(1 / 3 / len(LEXICON.ways[word]) for word in words)
            total += prior * math.exp(float(numerator(scores, Numerators.of([graph], CPU))[0]))
    # the loop may also say nothing but a pause, and stops after a word at no cost: compare with that in mind
    assert float(logs) >= math.log(total) - 1e-4
    assert float(logs) < math.log(total) + 2.0
    assert torch.allclose(use.sum(-1), torch.ones(1, 3), atol=1e-5)


def test_use_is_the_gradient_of_the_likelihood() -> None:
    graphs = Numerators.of([graph_of(["no", "a"], LEXICON)], CPU)
    matrix = torch.from_numpy(phone_bigram([["no", "a"], ["a"]], LEXICON))
    loop = WordLoop(word_loop({"no": 3}, LEXICON), CPU)
    scores = some_scores(1, 9, seed=1)
    for likelihood in (
        lambda x: numerator(x, graphs),
        lambda x: phone_denominator(x, matrix),
        loop,
    ):
        _, use = likelihood(scores)
        for frame, pdf in ((0, 0), (4, pdf_of("OW", 0)), (8, pdf_of("EY", 1))):
            step = torch.zeros_like(scores)
            step[0, frame, pdf] = 0.01
            slope = (likelihood(scores + step)[0] - likelihood(scores - step)[0]) / 0.02
            assert math.isclose(float(slope), float(use[0, frame, pdf]), abs_tol=2e-3)


def test_the_bigram_s_rows_are_probabilities() -> None:
    matrix = phone_bigram([["no", "a", BACKGROUND]], LEXICON)
    assert np.allclose(matrix.sum(1), 1.0, atol=1e-4)


def test_a_clip_that_went_wrong_counts_nothing() -> None:
    scores = some_scores(2, 3).requires_grad_()
    wanted, others = torch.full((2, 3, PDFS), 1 / PDFS), torch.rand(2, 3, PDFS)
    others[0, 1, 2] = math.nan
    discrimination(scores, wanted, others).backward()
    assert scores.grad is not None
    assert torch.all(scores.grad[0] == 0)
    assert torch.any(scores.grad[1] != 0)
