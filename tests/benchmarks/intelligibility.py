"""How well the voices are understood on the radio: word errors of a recogniser that knows nothing of the project.

    python tests/benchmarks/intelligibility.py --whisper /path/to/python
    python tests/benchmarks/intelligibility.py --whisper /path/to/python --messages 5 --spacing 8.33

60 messages of the tower (the example flight's replies, in an order drawn from the seed) in six voices of a cast, each
dry and through `clean`, `normal` and `weak`; heard by Whisper tiny.en (hearing/whisper_child.py says which
interpreter), with a prompt of the trade. A figure and its word count as the same, and so do "niner" and "nine". What
Whisper gets wrong on the dry voice is the voice's share, and Whisper's own; the rest is the radio's.
"""

import argparse
import json
import os
import random
import subprocess
import zlib
from collections import defaultdict
from pathlib import Path

import jiwer
import numpy as np

from phraseology.example import example_message
from phraseology.replies import REPLIES, say_message
from phraseology.standards import standard
from phraseology.words import tokens
from trainer.ears.listener import as_block
from trainer.ears.recogniser import SAMPLE_RATE, Block
from voices.casting import cast
from voices.mixing import resample
from voices.radio import BANDS_HZ, SETTINGS, radio
from voices.speaker import WorkerSpeaker

STATIONS = ("tower", "HERON 42", "TOPAZ 34", "ADZE 52", "MARTEN 17", "SABLE 21")
PROMPT = "Corbel Tower, Sable two one, Heron four two. Runway three one. Quarry, Silo, Weir."
SAME = {
    "niner": "nine",
    "tree": "three",
    "fife": "five",
    "fower": "four",
    "sabel": "sable",
    "wether": "weather",
}
SPEECH_WORDS = frozenset({"point", "decimal", "and"})
"""Whisper writes figures with and without these."""


class Whisper:
    """The recogniser in its own interpreter."""

    def __init__(self, python: str) -> None:
        child = Path(__file__).with_name("hearing") / "whisper_child.py"
        self._child = subprocess.Popen(
            [python, str(child)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "OMP_NUM_THREADS": "1"},
        )

    def hear(self, samples: Block) -> str:
        assert self._child.stdin is not None
        assert self._child.stdout is not None
        job = json.dumps({"prompt": PROMPT, "bytes": samples.nbytes}).encode() + b"\n"
        self._child.stdin.write(job + samples.tobytes())
        self._child.stdin.flush()
        line = self._child.stdout.readline()
        if not line:
            raise SystemExit(
                "Whisper does not start: name an interpreter with faster-whisper, see hearing/whisper_child.py"
            )
        return str(json.loads(line)["text"])

    def close(self) -> None:
        assert self._child.stdin is not None
        self._child.stdin.close()
        self._child.wait(20)


def messages(count: int, seed: int) -> list[str]:
    """Texts of the tower, each once, in an order that depends on the seed."""
    wording = standard("us_military_tower")
    names = [name for name in REPLIES if name not in wording.without_replies]
    texts = list(dict.fromkeys(say_message(example_message(name, wording), wording) for name in names))
    random.Random(seed).shuffle(texts)
    return texts[:count]


def plain(text: str) -> str:
    return " ".join(SAME.get(word, word) for word in tokens(text) if word not in SPEECH_WORDS)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--whisper", required=True, metavar="PYTHON")
    parser.add_argument("--messages", type=int, default=60)
    parser.add_argument("--spacing", choices=list(BANDS_HZ), default="25", help="kHz between channels")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engine", choices=("espeak", "piper"), default="espeak")
    parser.add_argument("--voices", type=int, default=len(STATIONS), help="so many of the cast")
    parser.add_argument("--errors", action="store_true", help="print what was misheard")
    options = parser.parse_args()
    texts = messages(options.messages, options.seed)
    whisper = Whisper(options.whisper)
    heard: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    with WorkerSpeaker(engine=None if options.engine == "espeak" else options.engine) as speaker:
        voices = cast(STATIONS[: options.voices], options.seed, speaker.voices())
        for station, voice in voices.items():
            for text in texts:
                dry = resample(speaker.speak(text, voice), SAMPLE_RATE)
                ways = {"dry": dry}
                for name, setting in SETTINGS.items():
                    rng = np.random.default_rng(zlib.crc32(f"{station}/{text}/{name}".encode()))
                    ways[name] = radio(dry, setting.on(options.spacing), rng)
                for name, sound in ways.items():
                    said, got = plain(text), plain(whisper.hear(as_block(sound.samples)))
                    heard[station, name].append((said, got))
                    if options.errors and said != got:
                        print(f"{station:10} {name:7} {said}\n{'':18} {got}")
    whisper.close()
    names = ["dry", *SETTINGS]
    print(f"Word errors in per cent, {len(texts)} messages, channels of {options.spacing} kHz\n")
    print("| voice | " + " | ".join(names) + " |\n|---|" + "---|" * len(names))
    for station, voice in voices.items():
        shown = f"{station}: {voice.name}, {voice.words_a_minute} a minute, {voice.semitones:+g}"
        print(f"| {shown} | " + " | ".join(errors(heard[station, name]) for name in names) + " |")
    together = {name: [pair for station in voices for pair in heard[station, name]] for name in names}
    print("| all | " + " | ".join(errors(together[name]) for name in names) + " |")


def errors(pairs: list[tuple[str, str]]) -> str:
    said, got = zip(*pairs, strict=True)
    return f"{100 * jiwer.wer(list(said), list(got)):.1f}"


if __name__ == "__main__":
    main()
