"""Spoken sound for the hearing tests, made while they run, and a situation to hear it in."""

import json
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soxr

from phraseology.wordgraph import Choice, Maybe, Node, Say, Seq, WordAutomaton, automaton
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.vosk_ears import OwnGraphRecogniser

Speak = Callable[[str, str], Block]


@pytest.fixture(scope="session")
def speak() -> Iterator[Speak]:
    """`speak(text, voice)`: espeak at 16 kHz, with 0.3 s of digital silence before and 0.5 s after."""
    pytest.importorskip("espeakng_loader")
    child = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("espeak_child.py"))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert child.stdin
    assert child.stdout
    asks, answers = child.stdin, child.stdout

    def say(text: str, voice: str) -> Block:
        asks.write(json.dumps({"voice": voice, "text": text}).encode() + b"\n")
        asks.flush()
        (length,) = struct.unpack("<I", answers.read(4))
        spoken = np.frombuffer(answers.read(length), np.int16).astype(np.float64)
        assert len(spoken), "espeak said nothing"
        sound = soxr.resample(spoken * (10_000 / np.abs(spoken).max()), 22_050, SAMPLE_RATE)
        return np.concatenate([np.zeros(4800), sound, np.zeros(8000)]).astype(np.int16)

    yield say
    asks.close()
    child.wait(10)


def _one_of(*options: str | Node) -> Node:
    return Choice(tuple(Say.of(option) if isinstance(option, str) else option for option in options))


def _calls() -> Node:
    """Calls of the overhead pattern by any callsign, right ones and wrong ones alike."""
    digit = _one_of(
        *["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "niner"]
    )
    callsign = Seq((_one_of(*["sable", "table", "heron", "marten", "topaz", "adze"]), digit, digit))
    hesitation = Maybe(_one_of("uh", "um"), take=4.0)
    point = _one_of("quarry", "silo", "weir")
    position = _one_of(
        "initial", "five mile initial", "three mile initial", "left break", "perch", "base", "final"
    )
    gear = Seq((Say.of("gear down"), Maybe(Say.of("and locked"))))
    intention = _one_of("touch and go", "full stop", "low approach")
    body = _one_of(
        Seq((Maybe(position), Maybe(gear), hesitation, Maybe(intention))),
        "request closed",
        Seq((Say.of("breaking out"), Maybe(Seq((Say.of("report"), point))))),
        "going around",
    )
    return Seq((Maybe(Say.of("corbel tower")), hesitation, callsign, hesitation, body))


@pytest.fixture(scope="session")
def situation() -> WordAutomaton:
    return automaton(_calls())


@pytest.fixture(scope="session")
def own_ears(situation: WordAutomaton) -> OwnGraphRecogniser:
    """Listening for `situation`; a test that changes that changes it back."""
    ears = OwnGraphRecogniser()
    ears.listen_for(situation)
    return ears
