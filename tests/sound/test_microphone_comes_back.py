"""A real sound server takes the microphone away, plays on meanwhile, and gives it back."""

import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest

from tests.sound.test_output_comes_back import pactl
from voices.sound import Sound
from voices.wav import write_wav

pytestmark = pytest.mark.skipif(
    "PATTERNVOICE_LONG" not in os.environ, reason="half a minute: PATTERNVOICE_LONG=1 runs it"
)
LISTENS = """
import time
from phraseology.wordgraph import Arc, WordAutomaton
from tests.screens.conftest import OneWord
from trainer.ears.microphone import DeviceMicrophone
from trainer.live.hearing import Hearing
from voices.playback import DevicePlayer

player = DevicePlayer()
roger = WordAutomaton(2, 1, (Arc(0, 1, "roger", 0.0),))
hearing = Hearing(
    DeviceMicrophone(), OneWord(), lambda: roger, lambda: False, lambda event: print(event, flush=True)
)
hearing.start()
loud = False
while True:
    if loud != (hearing.level_dbfs > -30.0):
        loud = not loud
        print("loud" if loud else "quiet", player.lost, flush=True)
    time.sleep(0.02)
"""
MICROPHONE = ("module-virtual-source", "source_name=mic", "master=micfeed.monitor")
PATIENCE_S = 180.0


class Listening:
    """The program, and the lines that it prints."""

    def __init__(self, card: dict[str, str]) -> None:
        self._program = subprocess.Popen(
            [sys.executable, "-c", LISTENS],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=card | {"PYTHONPATH": os.getcwd()},
            text=True,
        )
        self.said: list[str] = []
        self._lines: queue.Queue[str] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self._program.stdout is not None
        for line in self._program.stdout:
            self._lines.put(line.strip())

    def wait_for(self, beginning: str, meanwhile: Callable[[], object] = lambda: None) -> None:
        until = time.monotonic() + PATIENCE_S
        while not (self.said and self.said[-1].startswith(beginning)):
            meanwhile()
            with suppress(queue.Empty):
                self.said.append(self._lines.get(timeout=1.0))
            assert time.monotonic() < until, f"{beginning} did not come, but {self.said}"

    def end(self) -> None:
        self._program.kill()
        self._program.wait()


def player(card: dict[str, str]) -> str:
    """Who plays on the loudspeaker, as the server knows him: another connection is another one."""
    rows = [line.split() for line in pactl(card, "list", "short", "sink-inputs").splitlines()]
    (loudspeaker,) = {
        line.split()[0]
        for line in pactl(card, "list", "short", "sinks").splitlines()
        if line.split()[1] == "speaker"
    }
    (client,) = {client for _, sink, client, *_ in rows if sink == loudspeaker}
    return client


def test_a_microphone_that_is_taken_away_and_given_back(sound_card: dict[str, str], tmp_path: Path) -> None:
    """The server gives the loudspeaker's monitor in its place and tells nobody."""
    beep = tmp_path / "beep.wav"
    write_wav(beep, Sound((0.5 * np.sin(np.arange(32_000) / 4)).astype(np.float32), 16_000))

    def speak() -> None:
        subprocess.run(["paplay", "-d", "micfeed", str(beep)], env=sound_card, check=True)

    listening = Listening(sound_card)
    try:
        listening.wait_for("loud None", speak)
        plays = player(sound_card)
        for line in pactl(sound_card, "list", "short", "modules").splitlines():
            if MICROPHONE[0] in line:
                pactl(sound_card, "unload-module", line.split()[0])
        listening.wait_for("MicrophoneGone(reason='the microphone has gone: plug it in again')")
        speak()  # nobody hears it
        pactl(sound_card, "load-module", *MICROPHONE)
        pactl(sound_card, "set-default-source", "mic")
        listening.wait_for("MicrophoneBack()")
        assert listening.said[-2].startswith("MicrophoneGone"), "nothing was heard in between"
        listening.wait_for("loud None", speak)
        assert player(sound_card) == plays, "the loudspeaker's stream was never closed"
    finally:
        listening.end()
    assert [line.partition("(")[0] for line in listening.said if line.startswith("Micro")] == [
        "MicrophoneGone",
        "MicrophoneBack",
    ]
