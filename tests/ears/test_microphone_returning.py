"""A microphone that goes and comes back. The sound library is a file of a few lines in the place of PortAudio, so
that the process of its own has it too: its list of devices is as of the moment in which it began."""

import os
import sys
import textwrap
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from phraseology.wordgraph import Arc, WordAutomaton
from tests.screens.conftest import OneWord
from trainer.ears.errors import MicrophoneError
from trainer.ears.microphone import BLOCK_SAMPLES, CapturedBlock, DeviceMicrophone
from trainer.ears.returning import SeparateMicrophone, reopen
from trainer.live.hearing import (
    EarsEvent,
    Hearing,
    MicrophoneBack,
    MicrophoneGone,
    PartialWords,
    TraineeKeyed,
)

LIBRARY = """
    import pathlib, threading, time
    import numpy as np

    class PortAudioError(Exception):
        pass

    PLUGGED = pathlib.Path(__file__).with_name("plugged")
    BEGAN_WITH = PLUGGED.read_text() if PLUGGED.exists() else ""

    def query_devices(device=None, kind=None):
        if not BEGAN_WITH:
            raise PortAudioError("Error querying device -1")
        found = {"name": BEGAN_WITH, "max_input_channels": 1, "default_samplerate": 16000.0}
        return found if kind else [found]

    class InputStream:
        samplerate, time = 16000, 0.0

        def __init__(self, callback, blocksize, **_):
            if not PLUGGED.exists() or PLUGGED.read_text() != BEGAN_WITH:
                raise PortAudioError("Device unavailable")
            self.callback, self.blocksize, self.active = callback, blocksize, False

        def start(self):
            self.active = True
            threading.Thread(target=self.run, daemon=True).start()

        def run(self):
            while self.active and PLUGGED.exists() and PLUGGED.read_text() == BEGAN_WITH:
                self.callback(np.full((self.blocksize, 1), int(BEGAN_WITH), np.int16), self.blocksize, None, None)
                time.sleep(0.01)
            self.active = False

        def close(self):
            self.active = False
"""


class Rig:
    """`plug(1)`: device number 1, that gives ones; a replugged one has another number."""

    def __init__(self, folder: Path) -> None:
        (folder / "sounddevice.py").write_text(textwrap.dedent(LIBRARY))
        (folder / "pactl").write_text("#!/bin/sh\necho headset\n")
        (folder / "pactl").chmod(0o755)
        self._plugged = folder / "plugged"

    def plug(self, number: int) -> None:
        new = self._plugged.with_suffix(".new")
        new.write_text(str(number))
        new.replace(self._plugged)

    def unplug(self) -> None:
        self._plugged.unlink()


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Rig]:
    made = Rig(tmp_path)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("PATH", str(tmp_path), prepend=os.pathsep)
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    yield made
    sys.modules.pop("sounddevice", None)


def level(microphone: Any) -> int:
    """What the device in use gives."""
    for _ in range(20):
        block = microphone.read(0.5)
        if block is not None:
            return int(block.samples[0])
    raise AssertionError("no block came")


def until_gone(microphone: Any) -> None:
    with pytest.raises(MicrophoneError, match=r"^the microphone has gone: plug it in again$"):
        for _ in range(10_000):
            microphone.read(0.5)


def test_the_same_device_is_opened_again_in_this_process(rig: Rig) -> None:
    rig.plug(1)
    microphone = DeviceMicrophone()
    microphone.start()
    assert level(microphone) == 1
    rig.unplug()
    until_gone(microphone)
    microphone.stop()
    rig.plug(1)
    found = reopen()
    assert isinstance(found, DeviceMicrophone)
    assert level(found) == 1
    found.stop()


def test_a_device_that_the_library_does_not_know_is_found_by_another_process(rig: Rig) -> None:
    rig.plug(1)
    microphone = DeviceMicrophone()
    microphone.start()
    rig.unplug()
    until_gone(microphone)
    microphone.stop()
    with pytest.raises(MicrophoneError, match="there is no microphone"):
        reopen()
    rig.plug(2)
    found = reopen()
    assert isinstance(found, SeparateMicrophone)
    assert level(found) == 2
    child = found._child
    rig.unplug()
    until_gone(found)
    found.stop()
    assert child is not None
    assert child.returncode is not None


def test_the_other_process_ends_with_its_reader(rig: Rig) -> None:
    rig.plug(1)
    microphone = SeparateMicrophone()
    microphone.start()
    assert level(microphone) == 1
    child = microphone._child
    assert child is not None
    microphone.stop()
    assert child.returncode is not None


class Comes:
    """A `Microphone` at the boundary: some blocks, then it has gone."""

    dropped = 0

    def __init__(self, blocks: int) -> None:
        self.left = blocks
        self.stopped = False

    def start(self) -> None:
        pass

    def read(self, timeout: float) -> CapturedBlock | None:
        if not timeout:
            return None  # nothing waits: it gives its blocks as they are asked for
        if not self.left:
            raise MicrophoneError("the microphone has gone", "plug it in again")
        self.left -= 1
        return CapturedBlock(np.ones(BLOCK_SAMPLES, np.int16), 0.0)

    def stop(self) -> None:
        self.stopped = True


def test_each_loss_is_told_once_and_what_was_open_is_closed() -> None:
    gone = MicrophoneGone("the microphone has gone: plug it in again")
    told: list[EarsEvent] = []
    first, second = Comes(3), Comes(2)
    attempts = iter([None, None, second, None])
    enough = threading.Event()

    def again() -> Comes:
        found = next(attempts)
        if found is None:
            raise MicrophoneError("there is no microphone", "plug it in again")
        return found

    def wait(seconds: float) -> bool:
        if told.count(gone) == 2:
            enough.set()
            return hearing._stopping.wait(5)
        return False

    ears = OneWord()
    situation = WordAutomaton(2, 1, (Arc(0, 1, "roger", 0.0),))
    hearing = Hearing(first, ears, lambda: situation, lambda: False, told.append, 0.0, again, wait)
    hearing.press()
    hearing.start()
    assert enough.wait(10)
    hearing.stop()
    assert [each for each in told if not isinstance(each, PartialWords)] == [
        TraineeKeyed(),
        gone,
        MicrophoneBack(),
        gone,
    ]
    assert first.stopped
    assert second.stopped
    assert ears.samples == 3 * BLOCK_SAMPLES  # the key went up with the first: nothing of the second is in it


def test_one_that_cannot_be_opened_at_the_start_is_looked_for_too() -> None:
    told: list[EarsEvent] = []
    back = threading.Event()

    class Shut(Comes):
        def start(self) -> None:
            raise MicrophoneError(
                "the microphone 'headset' cannot be opened", "end the program that holds it"
            )

    class Endless(Comes):
        def read(self, timeout: float) -> CapturedBlock:
            back.set()
            time.sleep(0.01)
            return CapturedBlock(np.ones(BLOCK_SAMPLES, np.int16), 0.0)

    situation = WordAutomaton(2, 1, (Arc(0, 1, "roger", 0.0),))
    hearing = Hearing(
        Shut(0),
        OneWord(),
        lambda: situation,
        lambda: False,
        told.append,
        0.0,
        lambda: Endless(0),
        lambda _: False,
    )
    hearing.start()
    assert back.wait(10)
    hearing.stop()
    assert [type(event) for event in told] == [MicrophoneGone, MicrophoneBack]


def test_a_key_that_went_down_as_it_went_is_not_held_when_it_is_back() -> None:
    class Gone(Comes):
        def read(self, timeout: float) -> CapturedBlock | None:
            raise MicrophoneError("the microphone has gone", "plug it in again")

    told: list[EarsEvent] = []
    attempts = iter([Comes(2)])
    enough = threading.Event()

    def wait(seconds: float) -> bool:
        if len([each for each in told if isinstance(each, MicrophoneGone)]) == 2:
            enough.set()
            return hearing._stopping.wait(5)
        return False

    situation = WordAutomaton(2, 1, (Arc(0, 1, "roger", 0.0),))
    hearing = Hearing(
        Gone(0), OneWord(), lambda: situation, lambda: False, told.append, 0.0, lambda: next(attempts), wait
    )
    hearing.press()
    hearing.start()
    assert enough.wait(10)
    hearing.stop()
    assert MicrophoneBack() in told
    assert TraineeKeyed() not in told
