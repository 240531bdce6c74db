"""What is exported is what was trained, and both readers of a model directory take it."""

from pathlib import Path

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from phraseology.wordgraph import Say, automaton  # noqa: E402
from trainer.ears.acoustic import load_acoustic  # noqa: E402
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest, check_model_files, probe_model  # noqa: E402
from trainer.ears.training.export import export_model  # noqa: E402
from trainer.ears.training.features import BINS  # noqa: E402
from trainer.ears.training.learning import Teacher  # noqa: E402
from trainer.ears.training.lexicon import read_lexicon  # noqa: E402
from trainer.ears.training.network import Network, Shape  # noqa: E402
from trainer.ears.training.nnet3 import KaldiNetwork  # noqa: E402
from trainer.ears.training.topology import PDFS, phone_numbers, transition_model  # noqa: E402

SMALL = Shape(width=32, joint=16, offsets=(1, 3, 6))


def a_network() -> Network:
    torch.manual_seed(1)
    network = Network(SMALL)
    network.mean.copy_(torch.randn(BINS))
    network.deviation.copy_(torch.rand(BINS) + 0.5)
    network.train()
    for _ in range(3):  # so that the normalisations have something to fold
        network.both(torch.randn(4, 90, BINS))
    return network.eval()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("model")
    export_model(a_network(), read_lexicon(SHIPPED_MODEL / "lexicon.txt"), folder, "a model\n")
    return folder


def test_phones_and_transitions_are_those_of_the_shipped_model() -> None:
    shipped = load_acoustic(SHIPPED_MODEL)
    assert phone_numbers() | {} == shipped.phone_numbers
    assert transition_model().phones == shipped.transitions.phones


def test_the_exported_network_computes_the_same(folder: Path) -> None:
    cepstra = torch.randn(2, 100, BINS)
    with torch.no_grad():
        trained = a_network()(cepstra)
    exported = KaldiNetwork(folder / "am" / "final.mdl", torch.device("cpu"))(cepstra)
    assert trained.shape == exported.shape == (2, 34, PDFS)
    assert torch.allclose(trained, exported, atol=1e-3)


def test_the_directory_is_whole_and_vosk_decodes_with_it(folder: Path) -> None:
    check_manifest(folder)
    check_model_files(folder)
    probe_model(folder)


def test_a_graph_of_our_own_decodes_with_it(folder: Path) -> None:
    from trainer.ears.vosk_ears import OwnGraphRecogniser

    ears = OwnGraphRecogniser(folder)
    ears.listen_for(automaton(Say.of("sable two one")))
    ears.key_on()
    ears.block(np.random.default_rng(0).normal(0, 1000, 32_000).astype(np.int16))
    assert ears.key_off() is not None


def test_an_older_network_teaches_its_own_phones(speak_one: np.ndarray) -> None:
    """The shipped network, read on tensors, hears the phones of "one" where "one" is said."""
    from trainer.ears.training.features import Cepstra
    from trainer.ears.training.topology import pdf_of

    teacher = Teacher(SHIPPED_MODEL / "am" / "final.mdl", torch.device("cpu"))
    scores = teacher(Cepstra()(torch.from_numpy(speak_one.astype(np.float32))[None]))[0]
    best = set(scores.argmax(-1).tolist())
    for phone in ("W", "N"):
        assert {pdf_of(phone, 0), pdf_of(phone, 1)} & best
    assert pdf_of("S", 0) not in best


@pytest.fixture
def speak_one(tmp_path: Path) -> np.ndarray:
    pytest.importorskip("espeakng_loader")
    from trainer.ears.training.speakers import Manner
    from trainer.ears.training.synthesizers import Clip, Sources, synthesizer

    (sound,) = synthesizer("espeak", Sources())([Clip("espeak en-us+m1", "one", Manner())])
    quiet = np.zeros(4000, np.int16)
    sound = np.concatenate([quiet, sound, quiet])
    return sound + np.random.default_rng(0).normal(0, 3, len(sound)).astype(np.int16)
