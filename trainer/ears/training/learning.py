"""The training itself: a stage of cross-entropy on aligned outputs, then one that tells words from other words.

A stage ends after its updates or its seconds, whichever comes first; the rate of learning follows how much of
it is over. A checkpoint is written every minute and at the end of each stage, and a run goes on from it.
"""

import math
import random
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.ears.training.augment import WARPS, Augmenter
from trainer.ears.training.corpus import Corpus
from trainer.ears.training.errors import TrainingError
from trainer.ears.training.features import Cepstra
from trainer.ears.training.hmm import Graph, graph_of, phone_bigram, word_loop
from trainer.ears.training.lexicon import NOISE, PHONES, Lexicon
from trainer.ears.training.network import Network, Shape
from trainer.ears.training.nnet3 import KaldiNetwork
from trainer.ears.training.objective import (
    Numerators,
    WordLoop,
    cross_entropy,
    discrimination,
    numerator,
    phone_denominator,
)
from trainer.ears.training.speakers import SPEAKERS
from trainer.ears.training.topology import PDFS, pdf_of, phone_numbers
from trainer.ears.transition_model import read_transition_model

CHECKPOINT = "checkpoint.pt"
_ROUND = 4800
"""Samples: rows are made a multiple of this long, so that few sizes occur."""
_AVERAGE = 0.998
"""The exported network is a running mean of the trained one; this is the share of the old at each update."""
_FLAT_UPDATES = 200
"""Without a network to begin with, so many updates learn from the graphs alone."""
_SAVE_EVERY = 60.0
_TURNS = {"kokoro": 3, "human": 3}
"""How often in a round the clips of an engine come: few of the best voices outweigh many of the cheapest."""


@dataclass(frozen=True)
class Stage:
    """`name` is "align" or "discriminate"; `rate` is the highest rate of learning."""

    name: str
    updates: int
    seconds: float
    rate: float


@dataclass(frozen=True)
class Plan:
    """`batch_seconds` of sound an update; `words` is the share of the word loop in what is competed with, the phone
    bigram has the rest."""

    stages: tuple[Stage, ...] = (
        Stage("align", 2500, 150.0, 2e-3),
        Stage("discriminate", 6000, 400.0, 1e-3),
    )
    batch_seconds: float = 500.0
    words: float = 0.5
    second_head: float = 0.1
    seed: int = 1
    shape: Shape = field(default_factory=Shape)


@dataclass(frozen=True)
class Progress:
    stage: str
    update: int
    of: int
    seconds: float
    loss: float
    likelihood: float
    """Of the texts, by frame, natural logarithm."""


class _Material:
    """The corpus on the device, with the graph of every text.

    `in_trade` says of each clip whether all its words are of the trade: others are not in the loop of words.
    """

    def __init__(
        self, corpus: Corpus, lexicon: Lexicon, names: Lexicon, device: torch.device, workers: int
    ) -> None:
        self.sound = torch.from_numpy(corpus.sound).to(device)
        self.starts = torch.from_numpy(corpus.starts).to(device)
        self.lengths = torch.from_numpy(corpus.lengths).to(device)
        self.sizes = corpus.lengths
        self._turns = [_TURNS.get(SPEAKERS[name].engine, 1) for name in corpus.speakers]
        self.lexicon = lexicon
        whole = Lexicon({**names.ways, **lexicon.ways})
        self.labels = [whole.labels([word for word in text.split() if word != ","]) for text in corpus.texts]
        self.in_trade = torch.tensor([all(word in lexicon for word in words) for words in self.labels]).to(
            device
        )
        texts = sorted({" ".join(labels) for labels in self.labels})
        if workers > 1:
            with ProcessPoolExecutor(workers) as pool:
                graphs = list(pool.map(_graph, texts, [whole] * len(texts), chunksize=256))
        else:
            graphs = [_graph(text, whole) for text in texts]
        by_text = dict(zip(texts, graphs, strict=True))
        self.graphs = [by_text[" ".join(labels)] for labels in self.labels]

    def batches(self, seconds: float, rng: random.Random) -> Iterator[list[int]]:
        """Clips of like length together, for ever; in each round every clip has its turns."""
        clips = [clip for clip, turns in enumerate(self._turns) for _ in range(turns)]
        while True:
            order = sorted(clips, key=lambda clip: self.sizes[clip] * rng.uniform(0.97, 1.03))
            groups: list[list[int]] = [[]]
            for clip in order:
                padded = (self.sizes[clip] / SAMPLE_RATE + 1.0) * (len(groups[-1]) + 1)
                if groups[-1] and padded > seconds:
                    groups.append([])
                groups[-1].append(clip)
            rng.shuffle(groups)
            yield from groups


def _graph(text: str, lexicon: Lexicon) -> Graph:
    return graph_of(text.split(), lexicon)


class Teacher:
    """A trained network of another time, by whose ear the texts are aligned to the sound."""

    def __init__(self, path: Path, device: torch.device) -> None:
        model, numbers = read_transition_model(path), phone_numbers()
        self._network = KaldiNetwork(path, device)
        own = np.zeros(PDFS, np.int64)
        for name in ("SIL", NOISE, *PHONES):
            states = model.phones[numbers.get(name) or numbers[f"{name}_S"]]
            for state, ways in enumerate(states[:-1]):
                own[pdf_of(name, state)] = model.pdfs[ways[0].id]
        self._own = torch.from_numpy(own).to(device)

    def __call__(self, cepstra: Tensor) -> Tensor:
        return self._network(cepstra)[..., self._own]


class Training:
    """One training run on one device."""

    def __init__(
        self,
        corpus: Corpus,
        lexicon: Lexicon,
        names: Lexicon,
        folder: Path,
        plan: Plan,
        teacher: Path | None,
        device: torch.device,
        workers: int = 1,
    ) -> None:
        if not corpus.texts:
            raise TrainingError("the corpus is empty", "run synthesize first")
        torch.manual_seed(plan.seed)
        self._plan, self._folder, self._device = plan, folder, device
        self._material = _Material(corpus, lexicon, names, device, workers)
        self._cepstra = Cepstra(WARPS).to(device)
        self._network = Network(plan.shape).to(device)
        self._mean = Network(plan.shape).to(device)
        self._teacher = None if teacher is None else Teacher(teacher, device)
        self._augmenter = Augmenter(plan.seed, device)
        self._rng = random.Random(plan.seed)
        self._optimiser = torch.optim.AdamW(
            self._network.parameters(), lr=1e-3, weight_decay=1e-3, fused=device.type == "cuda"
        )
        self._done: dict[str, int] = {}
        self._spent: dict[str, float] = {}
        if not self._resume():
            self._set_input_scale()
            self._mean.load_state_dict(self._network.state_dict())

    def run(self, pause_after: float = math.inf) -> Iterator[Progress]:
        """Train through the stages; yields now and then. The result is in `network` and in the checkpoint.

        Stops after `pause_after` seconds, to be gone on with by another run.
        """
        self._pause = time.monotonic() + pause_after
        for stage in self._plan.stages:
            update = {"align": self._align, "discriminate": self._discriminate}[stage.name]
            if stage.name == "discriminate":
                self._prepare_denominators()
            yield from self._stage(stage, update)
            self.save()
            if time.monotonic() >= self._pause:
                return

    @property
    def network(self) -> Network:
        """The running mean of the network that is trained."""
        return self._mean

    def _stage(
        self, stage: Stage, update: Callable[[list[int]], tuple[Tensor, Tensor]]
    ) -> Iterator[Progress]:
        done, before = self._done.get(stage.name, 0), self._spent.get(stage.name, 0.0)
        start = saved = told = time.monotonic()
        for batch in self._material.batches(self._plan.batch_seconds, self._rng):
            spent = before + time.monotonic() - start
            over = max(done / stage.updates, spent / stage.seconds)
            if over >= 1.0 or time.monotonic() >= self._pause:
                break
            for group in self._optimiser.param_groups:
                group["lr"] = stage.rate * _rate(over, done)
            loss, likelihood = update(batch)
            done += 1
            self._done[stage.name], self._spent[stage.name] = done, spent
            now = time.monotonic()
            if now - told > 2.0 or done == 1:
                told = now
                yield Progress(stage.name, done, stage.updates, spent, float(loss), float(likelihood))
            if now - saved > _SAVE_EVERY:
                saved = now
                self.save()

    def _row(self, batch: list[int]) -> tuple[Tensor, int]:
        """The clips of a batch cut out at their pace, each in its row."""
        pick = torch.tensor(batch, device=self._device)
        pace = self._augmenter.pace(len(batch))
        lengths = self._material.lengths[pick].float()
        longest = max(self._material.sizes[clip] for clip in batch) / 0.85 + 0.5 * SAMPLE_RATE
        samples = int(-(-longest // _ROUND) * _ROUND)
        starts = self._material.starts[pick]
        return self._augmenter.place(self._material.sound, starts, lengths, pace, samples), samples

    def _heard(self, batch: list[int]) -> tuple[Tensor, Tensor]:
        """The clips as placed and untouched, and the cepstra of how they are heard."""
        with torch.no_grad():
            clean, _ = self._row(batch)
            heard = self._augmenter.hear(clean)
            warps = self._augmenter.warps(len(batch))
            energies = self._cepstra.energies(heard, warps)
            return clean, self._cepstra.cepstra(self._augmenter.mask(energies))

    def _numerators(self, batch: list[int]) -> Numerators:
        return Numerators.of([self._material.graphs[clip] for clip in batch], self._device)

    def _align(self, batch: list[int]) -> tuple[Tensor, Tensor]:
        clean, cepstra = self._heard(batch)
        first, second = self._network.both(cepstra)
        if self._teacher is not None:
            noise = torch.randn(clean.shape, device=self._device) * 3.0
            judged = self._teacher(self._cepstra(clean + noise))
        elif self._done.get("align", 0) < _FLAT_UPDATES:
            judged = torch.zeros_like(first)
        else:
            judged = first.detach()
        likelihood, use = numerator(judged, self._numerators(batch))
        loss = cross_entropy(first, use) + self._plan.second_head * cross_entropy(second, use)
        self._step(loss)
        return loss.detach(), likelihood.mean() / use.shape[1]

    def _prepare_denominators(self) -> None:
        labels = [
            words
            for words, own in zip(self._material.labels, self._material.in_trade.tolist(), strict=True)
            if own
        ]
        counts = Counter(word for words in labels for word in words)
        sampled = labels[:: max(1, len(labels) // 8_000)]
        bigram = phone_bigram(sampled, self._material.lexicon)
        self._bigram = torch.from_numpy(bigram).to(self._device)
        self._loop = WordLoop(word_loop(counts, self._material.lexicon), self._device)

    def _discriminate(self, batch: list[int]) -> tuple[Tensor, Tensor]:
        _, cepstra = self._heard(batch)
        first, second = self._network.both(cepstra)
        scores = first.detach()
        likelihood, wanted = numerator(scores, self._numerators(batch))
        share = self._plan.words * self._material.in_trade[torch.tensor(batch, device=self._device)].float()
        of_others, others = phone_denominator(scores, self._bigram)
        if self._plan.words > 0:
            logs, use = self._loop(scores)
            others = torch.lerp(others, use, share[:, None, None])
            of_others = torch.lerp(of_others, logs, share)
        loss = discrimination(first, wanted, others)
        self._step(loss + self._plan.second_head * cross_entropy(second, wanted))
        frames = wanted.shape[1]
        return (of_others - likelihood).mean() / frames, likelihood.mean() / frames

    def _step(self, loss: Tensor) -> None:
        self._optimiser.zero_grad(set_to_none=True)
        loss.backward()  # type: ignore[no-untyped-call]
        norm = torch.nn.utils.clip_grad_norm_(self._network.parameters(), 2.0)
        if self._device.type == "cpu" and not torch.isfinite(norm):
            return
        for parameter in self._network.parameters():
            if parameter.grad is not None:
                torch.nan_to_num_(parameter.grad, 0.0, 0.0, 0.0)
        self._optimiser.step()
        with torch.no_grad():
            done = sum(self._done.values())
            keep = min(_AVERAGE, (1 + done) / (10 + done))
            mean, now = _floats(self._mean), _floats(self._network)
            torch._foreach_lerp_(mean, now, 1 - keep)

    def _set_input_scale(self) -> None:
        """Mean and deviation of the cepstra over some batches as they are heard."""
        batches = self._material.batches(self._plan.batch_seconds, random.Random(self._plan.seed))
        cepstra = [self._heard(next(batches))[1].reshape(-1, self._network.mean.shape[0]) for _ in range(3)]
        whole = torch.cat(cepstra)
        self._network.mean.copy_(whole.mean(0))
        self._network.deviation.copy_(whole.std(0))

    def save(self) -> None:
        state: dict[str, Any] = {
            "network": self._network.state_dict(),
            "mean": self._mean.state_dict(),
            "optimiser": self._optimiser.state_dict(),
            "done": self._done,
            "spent": self._spent,
            "shape": self._plan.shape,
        }
        self._folder.mkdir(parents=True, exist_ok=True)
        partial = self._folder / (CHECKPOINT + ".tmp")
        torch.save(state, partial)
        partial.replace(self._folder / CHECKPOINT)

    def _resume(self) -> bool:
        path = self._folder / CHECKPOINT
        if not path.exists():
            return False
        state = torch.load(path, map_location=self._device, weights_only=False)
        if state["shape"] != self._plan.shape:
            raise TrainingError(f"{path} is of another network", "choose another folder, or remove it")
        self._network.load_state_dict(state["network"])
        self._mean.load_state_dict(state["mean"])
        self._optimiser.load_state_dict(state["optimiser"])
        self._done, self._spent = state["done"], state["spent"]
        self._augmenter = Augmenter(self._plan.seed + sum(self._done.values()), self._device)
        self._rng = random.Random(self._plan.seed + sum(self._done.values()))
        return True


def _floats(network: Network) -> list[Tensor]:
    return [value for value in network.state_dict().values() if value.is_floating_point()]


def _rate(over: float, done: int) -> float:
    """A rise over the first updates, then a fall to a fiftieth."""
    return min(1.0, (done + 1) / 100) * (0.02 + 0.98 * (1 - over) ** 1.5)


def read_network(folder: Path) -> Network:
    """The running mean out of a checkpoint; TrainingError if there is none."""
    path = folder / CHECKPOINT
    if not path.is_file():
        raise TrainingError(f"{path} is not there", "run train first")
    state = torch.load(path, map_location="cpu", weights_only=False)
    network = Network(state["shape"])
    network.load_state_dict(state["mean"])
    return network.eval()


def device_at_hand() -> torch.device:
    """The accelerator if there is one."""
    return torch.device("cuda" if torch.cuda.is_available() else "cpu")
