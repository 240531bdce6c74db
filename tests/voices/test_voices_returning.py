"""An output that goes and comes back: what is said of it, and that time goes on meanwhile."""

import sys
import threading
import types
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from voices import playback
from voices.errors import VoiceError
from voices.playback import DevicePlayer, Player, SilentPlayer
from voices.returning import BACK, ReturningPlayer
from voices.sound import Sound

SECOND = Sound(np.full(48_000, 0.1, np.float32), 48_000)


class Card:
    """The sound library at its boundary: it can be unplugged, or stop asking for samples."""

    class PortAudioError(Exception):
        pass

    def __init__(self) -> None:
        self.plugged = True
        self.streams: list[Any] = []

    def module(self) -> types.ModuleType:
        card = self

        class OutputStream:
            latency = 0.1

            def __init__(self, callback: Callable[..., None], **_: Any) -> None:
                self.callback, self.active = callback, False
                card.streams.append(self)

            def start(self) -> None:
                self.active = True

            def close(self) -> None:
                self.active = False

        found = types.ModuleType("sounddevice")
        found.PortAudioError = Card.PortAudioError  # type: ignore[attr-defined]
        found.OutputStream = OutputStream  # type: ignore[attr-defined]
        found.query_devices = self.query_devices  # type: ignore[attr-defined]
        return found

    def query_devices(self, device: object = None, kind: str | None = None) -> Any:
        if kind is None:
            return []
        if not self.plugged:
            raise Card.PortAudioError("Error querying device -1")
        return {"default_samplerate": 48_000.0}

    def unplug(self) -> None:
        self.plugged = False
        for stream in self.streams:
            stream.active = False

    def ask_for(self, seconds: float) -> np.ndarray:
        """What the newest stream gives in so long."""
        out = np.zeros((round(seconds * 48_000), 1), np.float32)
        self.streams[-1].callback(out, len(out), None, None)
        return out[:, 0]


class Clock:
    now = 100.0

    def __call__(self) -> float:
        return self.now


class Attempts:
    """Between two attempts: goes on when it is told to."""

    def __init__(self) -> None:
        self.asked, self.go = threading.Event(), threading.Semaphore(0)

    def __call__(self, seconds: float) -> bool:
        self.asked.set()
        found = self.go.acquire(timeout=10)
        self.asked.clear()
        return not found

    def one(self) -> None:
        assert self.asked.wait(10)
        self.go.release()


@pytest.fixture
def card(monkeypatch: pytest.MonkeyPatch) -> Card:
    made = Card()
    monkeypatch.setitem(sys.modules, "sounddevice", made.module())
    return made


class Rig:
    def __init__(self) -> None:
        self.said: list[str] = []
        self.clock, self.attempts = Clock(), Attempts()
        self.player: Player = ReturningPlayer(
            DevicePlayer, self.said.append, lambda: SilentPlayer(self.clock), self.attempts
        )

    def wait_until_back(self) -> None:
        """Until the attempt that was let go has found the output, and the player has taken it."""
        for _ in range(1_000):
            if not self.player.busy and BACK in self.said:
                return
            threading.Event().wait(0.005)
        raise AssertionError("the output was not found")


def test_an_output_unplugged_in_mid_sentence_is_told_once_and_time_goes_on(card: Card) -> None:
    rig = Rig()
    rig.player.play(SECOND)
    assert card.ask_for(0.25).any()
    card.unplug()
    assert rig.player.busy
    assert len(rig.said) == 1
    assert rig.said[0].startswith("the sound output has gone: plug it in again. Going on in text")
    rig.clock.now += 0.7
    assert rig.player.busy  # the rest of the sentence: 0.75 s
    rig.clock.now += 0.1
    assert not rig.player.busy
    rig.player.play(SECOND)
    assert rig.player.busy
    assert len(rig.said) == 1
    assert rig.player.seconds_played == pytest.approx(0.25 + 0.75)


def test_it_plays_again_when_the_output_is_back_but_not_in_mid_sentence(card: Card) -> None:
    rig = Rig()
    card.unplug()
    rig.player.play(SECOND)
    assert len(rig.said) == 1
    rig.attempts.one()  # still gone
    card.plugged = True
    rig.attempts.one()
    threading.Event().wait(0.05)
    assert rig.player.busy
    assert rig.said[1:] == []
    rig.clock.now += 1.5
    rig.wait_until_back()
    rig.player.play(SECOND)
    assert card.ask_for(0.25).any()
    assert rig.said[1:] == [BACK]
    card.unplug()
    assert rig.player.busy
    assert len(rig.said) == 3  # a new loss is told anew


def test_without_any_output_it_begins_in_silence_and_finds_one_later(card: Card) -> None:
    card.plugged = False
    rig = Rig()
    assert len(rig.said) == 1
    assert rig.said[0].startswith("there is no sound output to play on")
    assert not rig.player.busy
    card.plugged = True
    rig.attempts.one()
    rig.wait_until_back()
    rig.player.play(SECOND)
    assert card.ask_for(0.1).any()


def test_a_stream_that_no_longer_asks_for_samples_has_gone(
    card: Card, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [50.0]
    monkeypatch.setattr(playback.time, "monotonic", lambda: now[0])
    player = DevicePlayer()
    now[0] += 6.0  # it may take long to start
    assert player.lost is None
    card.ask_for(0.02)
    now[0] += 2.0
    assert player.lost is None
    now[0] += 1.5
    assert player.lost == "the sound output has gone"
    with pytest.raises(VoiceError, match="plug it in again"):
        player.play(SECOND)


def test_closing_ends_the_search(card: Card) -> None:
    card.plugged = False
    before = set(threading.enumerate())
    player = ReturningPlayer(DevicePlayer, [].append)
    (search,) = set(threading.enumerate()) - before
    player.close()
    search.join(5)
    assert not search.is_alive()
    assert card.streams == []
