"""Who speaks in the evaluation, none of whom the training heard, and the folder that keeps what they said."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import corpus
import numpy as np

from phraseology.numbers import TEEN_VALUES, TENS_VALUES
from phraseology.phrases import LETTERS
from trainer.ears.recogniser import SAMPLE_RATE, Block
from voices.errors import VoiceError
from voices.mixing import resample
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker
from voices.wav import read_wav, write_wav

ROOT = Path(__file__).resolve().parents[3]
RATES = (0.85, 1.0, 1.25)
_WORDS_A_MINUTE = 155


@dataclass(frozen=True)
class Speaker:
    """`name` as in the training's table, where it has one. `engine` says who makes the sound; `rated`: it can hurry."""

    name: str
    engine: str
    voice: str
    rated: bool = True


ESPEAK = (
    Speaker("espeak West Midlands", "espeak", "en-gb-x-gbcwmd"),
    Speaker("espeak klatt6", "espeak", "en-us+klatt6"),
    Speaker("espeak Reed", "espeak", "en-us+Reed"),
    Speaker("espeak steph2", "espeak", "en-gb-x-rp+steph2"),
)
"""Accents and variants that are not in the training's list."""
QUICK = (
    *ESPEAK[:2],
    Speaker("piper joe", "child", "piper", rated=False),
    Speaker("hibari heart", "child", "natural"),
    Speaker("flite rms", "child", "here"),
)
ALL = (
    *QUICK,
    *ESPEAK[2:],
    Speaker("kokoro am_michael", "child", "natural"),
    Speaker("kokoro bf_emma", "child", "natural"),
    Speaker("kokoro im_nicola", "child", "natural"),
)
PERSON = Speaker("human yweweler", "child", "here", rated=False)


@dataclass(frozen=True)
class Sources:
    """Where voices are that are no part of the project; None: skipped."""

    piper: str | None = None
    natural: str | None = None
    kokoro: Path | None = None
    human_digits: Path | None = None
    recordings: Path | None = None


class Unavailable(Exception):
    """This voice cannot be had; the sentence says what it needs."""


class Voices:
    """Says texts, once: what was said is kept in `folder`."""

    def __init__(self, folder: Path, sources: Sources) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder
        self._sources = sources
        self._children: dict[str, subprocess.Popen[bytes]] = {}
        self._espeak: WorkerSpeaker | None = None

    def close(self) -> None:
        for child in self._children.values():
            assert child.stdin is not None
            child.stdin.close()
            child.wait(20)
        if self._espeak is not None:
            self._espeak.close()

    def say(self, speaker: Speaker, text: str, rate: float) -> Block:
        """The text at 16 kHz. Unavailable if the voice cannot be had here."""
        key = f"{speaker.name}|{speaker.voice}|{rate if speaker.rated else 1.0}|{text}"
        path = self._folder / f"{hashlib.sha256(key.encode()).hexdigest()[:24]}.wav"
        if not path.exists():
            made = self._by_espeak(speaker, text, rate) if speaker.engine == "espeak" else self._by_child(
                speaker, text, rate
            )  # fmt: skip
            write_wav(path, made)
        return (read_wav(path, rate=SAMPLE_RATE).samples * 32767).astype(np.int16)

    def _by_espeak(self, speaker: Speaker, text: str, rate: float) -> Sound:
        self._espeak = self._espeak or WorkerSpeaker()
        voice = Voice(speaker.voice, round(_WORDS_A_MINUTE * rate))
        try:
            return resample(self._espeak.speak(text.replace(" ,", ","), voice), SAMPLE_RATE)
        except VoiceError as error:
            raise Unavailable(f"{speaker.name}: {error}") from error

    def _by_child(self, speaker: Speaker, text: str, rate: float) -> Sound:
        child = self._child(speaker)
        assert child.stdin is not None
        assert child.stdout is not None
        job = {"speaker": speaker.name, "text": text, "rate": rate if speaker.rated else 1.0}
        try:
            child.stdin.write(
                json.dumps({**job, "more": [*corpus.CALLSIGNS, *corpus.POINTS]}).encode() + b"\n"
            )
            child.stdin.flush()
            head: dict[str, Any] = json.loads(child.stdout.readline() or b'{"error": "its process ended"}')
        except BrokenPipeError:
            head = {"error": "its process ended"}
        if "error" in head:
            raise Unavailable(f"{speaker.name}: {head['error']}")
        samples = np.frombuffer(child.stdout.read(head["bytes"]), np.int16)
        if not len(samples):
            raise Unavailable(f"{speaker.name}: it said nothing")
        return Sound(samples.astype(np.float32) / 32768, SAMPLE_RATE)

    def _child(self, speaker: Speaker) -> subprocess.Popen[bytes]:
        python = {"piper": self._sources.piper, "natural": self._sources.natural, "here": sys.executable}[
            speaker.voice
        ]
        if python is None or shutil.which(python) is None:
            raise Unavailable(f"{speaker.name}: no interpreter has it (give --{speaker.voice} PYTHON)")
        if speaker.name == "flite rms" and shutil.which("flite") is None:
            raise Unavailable("flite rms: the program flite is not installed")
        if python not in self._children:
            places = (self._sources.kokoro, self._sources.human_digits)
            self._children[python] = subprocess.Popen(
                [python, str(Path(__file__).with_name("voice_child.py")), *(str(p or "") for p in places)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"},
            )
        return self._children[python]

    def usable(self, speakers: Sequence[Speaker], text: str) -> Iterator[Speaker | str]:
        """Each speaker that can say the text; for each that cannot, the sentence that says why."""
        for speaker in speakers:
            try:
                self.say(speaker, text, 1.0)
            except Unavailable as error:
                yield str(error)
            else:
                yield speaker


_NUMBERS = {
    **{str(number): word for number, word in enumerate(corpus.DIGITS)},
    **{number: word for word, number in TEEN_VALUES.items()},
    **{f"{number}0": word for word, number in TENS_VALUES.items()},
    "hundred": "hundred",
    "thousand": "thousand",
}


def recordings(folder: Path) -> tuple[dict[str, Path], list[Path]]:
    """A person's single words with their files, and her prompts that are no call, from the sounds of Debian's
    package asterisk-core-sounds-en-g722 (unpacked). Unavailable if they are not there or cannot be decoded."""
    try:
        import G722  # noqa: F401
    except ImportError:
        raise Unavailable("the recorded person: pip install G722, which decodes her sounds") from None
    roots = [path.parent.parent for path in folder.rglob("digits/1.g722")]
    if not roots:
        raise Unavailable(f"the recorded person: {folder} holds no sounds (unpack the Debian package there)")
    words = {word: roots[0] / "digits" / f"{name}.g722" for name, word in _NUMBERS.items()}
    words |= {letter: roots[0] / "phonetic" / f"{letter[0]}_p.g722" for letter in LETTERS}
    prompts = sorted(path for path in roots[0].glob("*.g722") if 12_000 < path.stat().st_size < 50_000)
    return {word: path for word, path in words.items() if path.exists()}, prompts


def decoded(path: Path) -> Block:
    from G722 import G722

    return np.asarray(G722(16_000, 64_000).decode(path.read_bytes()), np.int16)
