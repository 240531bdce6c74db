"""The microphone, with a sound library of a few lines in the place of PortAudio."""

import sys
import textwrap
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from trainer.ears.errors import MicrophoneError
from trainer.ears.microphone import BLOCK_SAMPLES, DeviceMicrophone, Microphone, list_input_devices
from trainer.ears.recogniser import SAMPLE_RATE


class PortAudioError(Exception):
    pass


class FakeLibrary:
    """What is used of sounddevice: devices, and a stream whose callback the test calls."""

    PortAudioError = PortAudioError

    def __init__(self, *devices: tuple[str, int], rates: tuple[int, ...] = (SAMPLE_RATE,)) -> None:
        self.devices = devices
        self.rates = rates
        self.streams: list[Any] = []

    def query_devices(self, device: str | None = None, kind: str | None = None) -> Any:
        every = [
            {"name": name, "max_input_channels": channels, "default_samplerate": 48_000.0}
            for name, channels in self.devices
        ]
        if kind is None:
            return every
        fitting = [
            entry for entry in every if entry["max_input_channels"] and device in (None, entry["name"])
        ]
        if fitting:
            return fitting[0]
        if device is None:
            raise PortAudioError("Error querying device -1")
        raise ValueError(f"No input device matching {device!r}")

    def InputStream(self, **settings: Any) -> Any:
        if settings["samplerate"] not in self.rates:
            raise PortAudioError("Invalid sample rate")
        stream = SimpleNamespace(
            time=7.5,
            closed=False,
            active=True,
            samplerate=settings["samplerate"],
            settings=settings,
            start=lambda: None,
        )
        stream.close = lambda: setattr(stream, "closed", True)
        self.streams.append(stream)
        return stream

    def record(self, samples: np.ndarray[Any, Any], overflow: bool = False) -> None:
        buffer = samples.reshape(-1, 1).copy()
        self.streams[-1].settings["callback"](
            buffer, len(samples), None, SimpleNamespace(input_overflow=overflow)
        )
        buffer[:] = 0  # PortAudio uses the memory again


@pytest.fixture
def install(monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    monkeypatch.setenv("PATH", "")  # no sound server is asked

    def place(library: FakeLibrary) -> FakeLibrary:
        monkeypatch.setitem(sys.modules, "sounddevice", library)
        return library

    return place


def test_blocks_come_in_order_with_their_times(install: Any) -> None:
    library = install(FakeLibrary(("headset", 1), ("loudspeaker", 0)))
    assert list_input_devices() == ["headset"]
    microphone: Microphone = DeviceMicrophone()
    microphone.start()
    microphone.start()
    assert len(library.streams) == 1
    blocks = [np.full(BLOCK_SAMPLES, value, np.int16) for value in (1, 2)]
    library.record(blocks[0])
    library.streams[0].time = 7.532
    library.record(blocks[1])
    for block, at in zip(blocks, (7.5, 7.532), strict=True):
        captured = microphone.read(0.0)
        assert captured
        assert np.array_equal(captured.samples, block)
        assert captured.at == at
    assert microphone.read(0.0) is None
    assert microphone.dropped == 0
    microphone.stop()
    assert library.streams[0].closed


def test_lost_blocks_are_counted(install: Any) -> None:
    library = install(FakeLibrary(("headset", 1)))
    microphone = DeviceMicrophone("headset")
    microphone.start()
    library.record(np.zeros(BLOCK_SAMPLES, np.int16), overflow=True)
    assert microphone.dropped == 1
    for _ in range(400):
        library.record(np.zeros(BLOCK_SAMPLES, np.int16))
    kept = 0
    while microphone.read(0.0):
        kept += 1
    assert microphone.dropped == 1 + 401 - kept
    assert kept < 401


def test_a_device_that_refuses_our_rate_is_resampled(install: Any) -> None:
    library = install(FakeLibrary(("headset", 1), rates=(48_000,)))
    microphone = DeviceMicrophone()
    microphone.start()
    assert library.streams[0].settings["blocksize"] == 3 * BLOCK_SAMPLES
    tone = (10_000 * np.sin(2 * np.pi * 440 * np.arange(48_000) / 48_000)).astype(np.int16)
    pieces = []
    for start in range(0, len(tone), 1536):
        library.record(tone[start : start + 1536])
        captured = microphone.read(0.0)
        assert captured
        assert captured.samples.dtype == np.int16
        pieces.append(captured.samples)
    heard = np.concatenate(pieces).astype(float)
    assert 0.9 * SAMPLE_RATE < len(heard) <= SAMPLE_RATE
    middle = heard[4000 : 4000 + 8000]
    assert np.argmax(np.abs(np.fft.rfft(middle))) == 440 * 8000 // SAMPLE_RATE
    assert np.abs(middle).max() == pytest.approx(10_000, rel=0.02)


def test_a_stream_that_ends_or_stalls_is_a_microphone_that_has_gone(
    install: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [50.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    library = install(FakeLibrary(("headset", 1)))
    microphone = DeviceMicrophone("headset")
    microphone.start()
    now[0] += 6.0  # it may take long to start
    assert microphone.read(0.0) is None
    library.record(np.ones(BLOCK_SAMPLES, np.int16))
    now[0] += 2.0
    library.streams[0].active = False
    assert microphone.read(0.0)  # what is there is read first
    with pytest.raises(MicrophoneError, match=r"^the microphone has gone: plug it in again$"):
        microphone.read(0.0)
    library.streams[0].active = True
    assert microphone.read(0.0) is None
    now[0] += 1.5
    with pytest.raises(MicrophoneError, match="has gone"):
        microphone.read(0.0)
    microphone.stop()
    microphone.start()
    assert microphone.read(0.0) is None


@pytest.mark.parametrize(("source", "gone"), [("speaker.monitor", True), ("headset", False)])
def test_a_sound_server_that_gives_the_loudspeaker_for_the_microphone_is_seen_through(
    install: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, source: str, gone: bool
) -> None:
    """`pactl` at the boundary. It is asked only when nothing but zeros has come for long: a muted one is there."""
    library = install(FakeLibrary(("headset", 1)))
    asked = tmp_path / "asked"
    (tmp_path / "pactl").write_text(f"#!/bin/sh\necho x >> {asked}\necho headset\n")
    (tmp_path / "pactl").chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    microphone = DeviceMicrophone()
    microphone.start()
    (tmp_path / "pactl").write_text(f"#!/bin/sh\necho x >> {asked}\necho {source}\n")
    for _ in range(10):
        library.record(np.ones(SAMPLE_RATE, np.int16))
        assert microphone.read(0.0)
    for _ in range(3):
        library.record(np.zeros(SAMPLE_RATE, np.int16))
        assert microphone.read(0.0)
    assert asked.read_text() == "x\n"
    library.record(np.zeros(SAMPLE_RATE, np.int16))
    if gone:
        with pytest.raises(MicrophoneError, match="has gone"):
            microphone.read(0.0)
        with pytest.raises(MicrophoneError, match="there is no microphone"):
            DeviceMicrophone()
    else:
        assert microphone.read(0.0)
    assert len(asked.read_text().split()) == (3 if gone else 2)


def test_no_device(install: Any) -> None:
    install(FakeLibrary())
    with pytest.raises(MicrophoneError, match=r"^there is no microphone: plug one in"):
        DeviceMicrophone()


def test_an_unknown_device_lists_the_others(install: Any) -> None:
    install(FakeLibrary(("headset", 1), ("webcam", 2)))
    with pytest.raises(MicrophoneError, match=r"no microphone 'studio': choose another \(headset, webcam\)"):
        DeviceMicrophone("studio")


def test_a_device_that_cannot_be_opened(install: Any) -> None:
    install(FakeLibrary(("headset", 1), rates=()))
    microphone = DeviceMicrophone()
    with pytest.raises(MicrophoneError, match="'headset' cannot be opened: choose another"):
        microphone.start()


def test_missing_package_and_missing_portaudio(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(MicrophoneError, match="pip install sounddevice"):
        DeviceMicrophone()
    (tmp_path / "sounddevice.py").write_text(
        textwrap.dedent("""raise OSError("PortAudio library not found")""")  # as the Linux wheel does
    )
    monkeypatch.delitem(sys.modules, "sounddevice")
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(MicrophoneError, match=r"PortAudio is not installed: .*apt install libportaudio2"):
        list_input_devices()
