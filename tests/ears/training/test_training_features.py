"""Cepstra on tensors are those that the recogniser computes."""

import numpy as np
import pytest

torch = pytest.importorskip("torch")
knf = pytest.importorskip("kaldi_native_fbank")

from trainer.ears.training.augment import WARPS, Augmenter  # noqa: E402
from trainer.ears.training.features import BINS, Cepstra, frames_of  # noqa: E402


def kaldi(sound: np.ndarray) -> np.ndarray:
    options = knf.MfccOptions()
    options.frame_opts.dither = 0.0
    options.frame_opts.samp_freq = 16_000
    options.frame_opts.snip_edges = True
    options.mel_opts.num_bins = BINS
    options.mel_opts.low_freq = 20
    options.mel_opts.high_freq = -400
    options.num_ceps = BINS
    options.use_energy = False
    maker = knf.OnlineMfcc(options)
    maker.accept_waveform(16_000, sound.tolist())
    maker.input_finished()
    return np.stack([maker.get_frame(number) for number in range(maker.num_frames_ready)])


def a_sound() -> np.ndarray:
    rng = np.random.default_rng(3)
    time = np.arange(16_000) / 16_000
    return (4000 * np.sin(2 * np.pi * (200 + 900 * time) * time) + rng.normal(0, 300, 16_000)).astype(
        np.float32
    )


def test_equal_to_kaldi() -> None:
    sound = a_sound()
    ours = Cepstra()(torch.from_numpy(sound)[None])[0].numpy()
    theirs = kaldi(sound)
    assert ours.shape == theirs.shape == (frames_of(len(sound)), BINS)
    assert np.abs(ours - theirs).max() < 0.01


def test_a_warp_of_one_is_none_and_the_others_differ() -> None:
    sound = torch.from_numpy(a_sound())[None]
    cepstra = Cepstra(WARPS)
    plain = Cepstra().energies(sound)
    assert torch.allclose(cepstra.energies(sound, torch.tensor([9])), plain)
    assert (cepstra.energies(sound, torch.tensor([0])) - plain).abs().mean() > 0.1


def test_a_clip_at_its_own_pace_is_unchanged_and_twice_as_fast_is_half_as_long() -> None:
    device = torch.device("cpu")
    sound = torch.from_numpy(a_sound().astype(np.int16))
    starts, lengths = torch.tensor([0, 0]), torch.tensor([16_000.0, 16_000.0])
    placed = Augmenter(1, device).place(sound, starts, lengths, torch.tensor([1.0, 2.0]), 32_000)
    loud = [(row.abs() > 0).nonzero()[:, 0] for row in placed]
    assert abs(len(loud[0]) - 16_000) < 20
    assert abs(len(loud[1]) - 8_000) < 20
    lead = int(loud[0][0])
    correlation = np.corrcoef(placed[0, lead : lead + 15_000].numpy(), sound[:15_000].numpy())[0, 1]
    assert correlation > 0.5  # the lead is a fraction of a sample


def test_the_same_seed_hears_the_same_and_nothing_overflows() -> None:
    device = torch.device("cpu")
    clean = torch.from_numpy(np.stack([a_sound()] * 8))
    heard = [Augmenter(5, device).hear(clean) for _ in range(2)]
    assert torch.equal(heard[0], heard[1])
    assert torch.isfinite(heard[0]).all()
    assert heard[0].abs().max() <= 32768
    assert not torch.equal(heard[0][0], heard[0][1])
