"""The whole way by sound: a voice into the microphone, the tower's answer out of the loudspeaker."""

import os
import pty
import select
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from phraseology.heard import HeardBy
from phraseology.wordgraph import Choice, Say, automaton
from phraseology.words import tokens
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.vosk_ears import OwnGraphRecogniser
from trainer.logbook.store import Logbook
from trainer.session.frequency import TOWER
from voices.casting import TOWER_VOICES
from voices.mixing import Noise, resample, with_noise
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker
from voices.wav import read_wav, write_wav

PILOT = Voice("en-us+m4", 160)
PATIENCE_S = 60.0
SILENCE_S = 1.5
OTHER_MESSAGES = (
    "sable one two, runway three one, overhead approved, report three mile initial",
    "sable two one, runway one three, overhead approved, report three mile initial",
    "sable two one, runway three one, overhead approved, report five mile initial",
    "sable two one, runway three one, wind calm, cleared to land",
    "sable two one, say again",
    "sable two one, break approved",
    "heron four two, runway three one, wind calm, cleared touch and go",
)


class Flight:
    """`fly` in a pseudo terminal. What it draws is read all the while, or it would stop drawing."""

    def __init__(self, environment: dict[str, str], data: Path) -> None:
        self._terminal, other_end = pty.openpty()
        self._data = data
        data.mkdir(exist_ok=True)
        (data / "settings.json").write_text('{"recordings": "wav"}', "utf-8")
        self._process = subprocess.Popen(
            [
                *(sys.executable, "-c", "from trainer.cli import run; run()"),
                *("fly", "--drill", "first_flight", "--pace", "quick"),
            ],
            stdin=other_end,
            stdout=other_end,
            env=environment
            | {"PATTERNVOICE_DATA": str(data), "TERM": "xterm-256color", "PYTHONPATH": os.getcwd()},
            start_new_session=True,
        )
        os.close(other_end)

    def wait_for(self, what: str, there: Callable[[], Any]) -> Any:
        """The first answer that is not None."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if select.select([self._terminal], [], [], 0.1)[0]:
                with suppress(OSError):  # Linux says EIO once the program has ended
                    os.read(self._terminal, 65536)
            answer = there()
            if answer is not None:
                return answer
        raise AssertionError(f"{what}: nothing of the kind in {PATIENCE_S:g} s, but {self.events()}")

    def events(self) -> list[dict[str, Any]]:
        """What the logbook has of this session so far."""
        with Logbook.open(self._data) as logbook:
            return logbook.events(1) if logbook.sessions() else []

    def first(self, kind: str) -> dict[str, Any] | None:
        return next((event for event in self.events() if event["event"] == kind), None)

    def end(self) -> int:
        """Leave in order; the exit status."""
        self._process.terminate()
        status = self.wait_for("the end", self._process.poll)
        os.close(self._terminal)
        return int(status)


def test_a_spoken_check_in_is_heard_and_answered(sound_card: dict[str, str], tmp_path: Path) -> None:
    data, clip, heard_outside = tmp_path / "data", tmp_path / "clip.wav", tmp_path / "speaker.raw"
    recorder = subprocess.Popen(
        [
            "parec",
            "-d",
            "speaker.monitor",
            "--raw",
            "--format=s16le",
            f"--rate={SAMPLE_RATE}",
            "--channels=1",
        ],
        stdout=heard_outside.open("wb"),
        env=sound_card,
    )
    flight = Flight(sound_card, data)
    try:
        due = flight.wait_for("a call that is due", lambda: flight.first("CallDue"))
        write_wav(clip, spoken(due["model_call"]))
        subprocess.run(["paplay", "-d", "micfeed", str(clip)], env=sound_card, check=True)
        trainee = flight.wait_for("a call that was heard", lambda: flight.first("TraineeSpoke"))
        tower = flight.wait_for("an answer", lambda: flight.first("TowerSpoke"))
        answer = flight.wait_for("the sound of it", lambda: whole_transmission(heard_outside))
    finally:
        recorder.terminate()
        recorder.wait()
        status = flight.end()
    assert status == 0
    assert (trainee["call"], trainee["accepted"]) == ("check_in", True)
    assert trainee["heard"] == " ".join(tokens(due["model_call"]))
    assert trainee["heard_by"] == HeardBy.SITUATION
    assert recognised(answer, tower["words"]) == " ".join(tokens(tower["words"]))
    (recording,) = (data / "recordings").iterdir()
    # On the recording both are one behind the other: the trainee's call and the tower's answer.
    assert read_wav(recording).seconds > read_wav(clip).seconds + len(answer) / SAMPLE_RATE


def spoken(words: str) -> Sound:
    """A pilot in a room with some noise, with a breath of it before and after."""
    assert PILOT.name not in TOWER_VOICES, f"the {TOWER}'s voice would prove less"
    with WorkerSpeaker() as speaker:
        voice = resample(speaker.speak(words, PILOT), SAMPLE_RATE)
    quiet = np.zeros(SAMPLE_RATE // 2, np.float32)
    framed = Sound(np.concatenate([quiet, voice.samples * 0.5, quiet]), SAMPLE_RATE)
    return with_noise(framed, 25.0, np.random.default_rng(1), Noise.PINK)


def whole_transmission(raw: Path) -> Block | None:
    """The first transmission of the recording, once it is over: the null sink is silent but for those."""
    sound = np.frombuffer(raw.read_bytes()[: raw.stat().st_size // 2 * 2], np.int16)
    loud = np.flatnonzero(np.abs(sound) > 3)
    if not len(loud):
        return None
    gaps = np.flatnonzero(np.diff(np.append(loud, len(sound))) > SILENCE_S * SAMPLE_RATE)
    return sound[loud[0] : loud[gaps[0]] + 1] if len(gaps) else None


def recognised(answer: Block, words: str) -> str:
    """What our own ears make of it, among messages that differ by a word or two."""
    messages = tuple(Say(tuple(tokens(message))) for message in {words, *OTHER_MESSAGES})
    assert len(messages) == len(OTHER_MESSAGES) + 1, "this message is among the others"
    ears = OwnGraphRecogniser()
    ears.listen_for(automaton(Choice(messages)))
    ears.key_on()
    ears.block(answer)
    heard = ears.key_off()
    assert heard.by is HeardBy.SITUATION, heard
    return heard.text
