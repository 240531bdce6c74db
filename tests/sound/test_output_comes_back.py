"""A real sound server takes the output away in mid-sentence and gives it back."""

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

PLAYS = """
import time
import numpy as np
from voices.playback import DevicePlayer
from voices.returning import ReturningPlayer
from voices.sound import Sound

player = ReturningPlayer(DevicePlayer, lambda sentence: print(sentence, flush=True))
tone = Sound((0.3 * np.sin(np.arange(48_000) / 20)).astype(np.float32), 48_000)
print("ready", flush=True)
while True:
    if not player.busy:
        player.play(tone)
    time.sleep(0.05)
"""
PATIENCE_S = 30.0


def pactl(card: dict[str, str], *words: str) -> str:
    return subprocess.run(["pactl", *words], env=card, check=True, capture_output=True, text=True).stdout


def loud_seconds(card: dict[str, str], folder: Path) -> float:
    """How much sound came out of the speaker in two seconds."""
    heard = folder / "heard.raw"
    with heard.open("wb") as out:
        recorder = subprocess.Popen(
            ["parec", "-d", "speaker.monitor", "--raw", "--format=s16le", "--rate=16000", "--channels=1"],
            stdout=out,
            env=card,
        )
        time.sleep(2.0)
        recorder.terminate()
        recorder.wait()
    samples = np.frombuffer(heard.read_bytes()[: heard.stat().st_size // 2 * 2], np.int16)
    return float((np.abs(samples.astype(int)) > 1_000).mean() * 2.0)


def until_loud(card: dict[str, str], folder: Path) -> float:
    until = time.monotonic() + PATIENCE_S
    loud = 0.0
    while loud < 0.5 and time.monotonic() < until:
        loud = loud_seconds(card, folder)
    return loud


def test_an_output_that_is_taken_away_and_given_back(sound_card: dict[str, str], tmp_path: Path) -> None:
    program = subprocess.Popen(
        [sys.executable, "-c", PLAYS],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=sound_card | {"PYTHONPATH": os.getcwd()},
        text=True,
    )
    assert program.stdout is not None
    try:
        assert program.stdout.readline() == "ready\n"
        assert until_loud(sound_card, tmp_path) > 0.5
        for line in pactl(sound_card, "list", "short", "modules").splitlines():
            if "module-null-sink" in line:
                pactl(sound_card, "unload-module", line.split()[0])
        assert program.stdout.readline().startswith("the sound output has gone")
        pactl(sound_card, "load-module", "module-null-sink", "sink_name=speaker", "rate=48000")
        pactl(sound_card, "set-default-sink", "speaker")
        assert program.stdout.readline() == "The sound output is back.\n"
        assert until_loud(sound_card, tmp_path) > 0.5
    finally:
        program.kill()
        rest = program.communicate()[0]
    assert rest == ""  # each was said once
