"""Players: the queue to the card, the silent player's clock, and a missing library or card."""

import importlib.abc
import sys
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voices.errors import VoiceError
from voices.playback import DevicePlayer, PlayBuffer, Player, SilentPlayer, list_output_devices
from voices.sound import Sound


def ramp(count: int, start: int = 1) -> np.ndarray:
    return np.arange(start, start + count, dtype=np.float32)


@given(st.lists(st.integers(0, 50), max_size=8), st.lists(st.integers(1, 40), max_size=8))
def test_samples_come_out_in_order_and_only_once(puts: list[int], takes: list[int]) -> None:
    buffer = PlayBuffer()
    start = 1
    for count in puts:
        buffer.put(ramp(count, start))
        start += count
    out: list[float] = []
    filled = 0
    for count in takes:
        block, real = buffer.take(count)
        assert len(block) == count
        assert not block[real:].any()
        out.extend(block[:real])
        filled += real
    assert out == list(range(1, filled + 1))
    assert filled == min(sum(puts), sum(takes)) == buffer.taken
    assert buffer.waiting == sum(puts) - filled


def test_cutting_fades_and_forgets_the_rest() -> None:
    buffer = PlayBuffer()
    buffer.put(np.ones(100, dtype=np.float32))
    buffer.put(np.ones(100, dtype=np.float32))
    buffer.take(95)
    buffer.cut(11)
    block, filled = buffer.take(50)
    assert filled == 11
    assert block[:11] == pytest.approx(np.linspace(1, 0, 11))
    assert buffer.waiting == 0
    buffer.put(ramp(3))
    assert list(buffer.take(3)[0]) == [1, 2, 3]


class Clock:
    now = 100.0

    def __call__(self) -> float:
        return self.now


def test_the_silent_player_takes_as_long_as_the_sounds() -> None:
    clock = Clock()
    player: Player = SilentPlayer(clock)
    second = Sound(np.zeros(8_000, dtype=np.float32), 8_000)
    assert not player.busy
    player.play(second)
    player.play(second)
    clock.now += 1.5
    assert player.busy
    assert player.seconds_played == pytest.approx(1.5)
    clock.now += 1.0
    assert not player.busy
    assert player.seconds_played == pytest.approx(2.0)
    player.play(second)
    clock.now += 0.25
    player.stop()
    assert not player.busy
    assert player.seconds_played == pytest.approx(2.25)
    player.play(second)
    assert player.busy
    player.close()
    assert not player.busy


class NoPortAudio(importlib.abc.MetaPathFinder):
    """Python's side of a system without PortAudio: what sounddevice raises when it is imported."""

    def find_spec(self, name: str, path: Sequence[str] | None, target: object = None) -> None:
        if name == "sounddevice":
            raise OSError("PortAudio library not found")


def test_without_portaudio_the_error_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPortAudio(), *sys.meta_path])
    for attempt in (DevicePlayer, list_output_devices):
        with pytest.raises(VoiceError) as caught:
            attempt()
        assert caught.value.remedy == "apt install libportaudio2"


def test_a_device_that_is_not_there_is_refused_with_what_to_do() -> None:
    with pytest.raises(VoiceError) as caught:
        DevicePlayer("no such output anywhere")
    assert (
        caught.value.remedy == "apt install libportaudio2" or "'no such output anywhere'" in caught.value.what
    )
