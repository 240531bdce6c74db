"""A trained network as a model directory that Vosk loads by itself and `trainer.ears.graph` writes graphs for."""

import hashlib
import math
import struct
from pathlib import Path

from trainer.ears.acoustic import BACKGROUND, SILENCE, Acoustic, load_acoustic
from trainer.ears.model_files import MANIFEST
from trainer.ears.training.features import SETTINGS
from trainer.ears.training.hmm import PAUSE
from trainer.ears.training.lexicon import Lexicon
from trainer.ears.training.network import Network
from trainer.ears.training.nnet3 import model_bytes
from trainer.ears.training.topology import phone_numbers

DECODING = """\
--min-active=200
--max-active=1500
--beam=12.0
--lattice-beam=4.0
--acoustic-scale=1.0
--frame-subsampling-factor=3
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=0.75
--endpoint.rule4.min-trailing-silence=1.0
"""
"""The text of `conf/model.conf`."""

BACKGROUND_REWARD = 3.0
"""How much cheaper background is than a word in the loop that Vosk uses by itself: its phone is hard to please."""

_KIND_OF_PLACE = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}
_FINAL = math.inf
_Arc = tuple[int, int, float, int]


def export_model(network: Network, lexicon: Lexicon, folder: Path, card: str) -> None:
    """Write the directory; `card` is the text of its README. What was there is overwritten."""
    numbers = phone_numbers()
    words = ["<eps>", *lexicon.ways]
    boundary = [
        f"{number} {_KIND_OF_PLACE.get(name.rpartition('_')[2], 'nonword') if '_' in name else 'nonword'}\n"
        for name, number in numbers.items()
        if number
    ]
    boundary[1] = "2 singleton\n"  # background is a word of one phone
    texts = {
        "README.md": card,
        "conf/mfcc.conf": SETTINGS,
        "conf/model.conf": DECODING,
        "lexicon.txt": lexicon.text(),
        "graph/words.txt": "".join(f"{word} {number}\n" for number, word in enumerate(words)),
        "graph/phones.txt": "".join(f"{name} {number}\n" for name, number in numbers.items()),
        "graph/phones/word_boundary.int": "".join(boundary),
        "graph/disambig_tid.int": "",
    }
    for name, text in texts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    (folder / "am").mkdir(exist_ok=True)
    (folder / "am" / "final.mdl").write_bytes(model_bytes(network))
    acoustic = load_acoustic(folder)
    (folder / "graph" / "HCLr.fst").write_bytes(vector_fst(*_loop(acoustic)))
    each = math.log(len(words) - 1)
    grammar = [(number, number, each, 0) for number in range(1, len(words))]
    (folder / "graph" / "Gr.fst").write_bytes(vector_fst([0.0], [grammar]))
    write_manifest(folder)


_CARD = """\
# The recogniser's model

A Vosk-format model for the words of the overhead pattern ({words} words), made by `python -m trainer.ears.training`.
Use: hearing radio calls of the pattern in English for practice on the ground. Not for operational use of any kind.
Limits: trained on synthetic voices and on people's single digits only; nobody's calls were ever recorded for it. Accents far
from those below and children are heard worse, and anybody beside other voices (babble).

Network: a time-delay network with residual paths, one output every 30 ms over half-phones without context, trained by
cross-entropy, then against a phone bigram and the loop of all words. Words of the dictionary that the trade does not have
were spoken in it as names; one in ten of them (`lexicon.never_trained`) never was, so that new names can be tested.
Kokoro's voices are points of a space: three in four of their clips are by a mixture of two of those that are named.

| voices | seconds of speech | licence |
|---|---|---|
{voices}
Names and places spoken come from the CMU Pronouncing Dictionary (BSD 2-Clause). Where human digits are listed above, the model
is shared under **CC BY-SA 4.0** (<https://creativecommons.org/licenses/by-sa/4.0/>), as the Free Spoken Digit Dataset
(<https://github.com/Jakobovski/free-spoken-digit-dataset>) asks: name it wherever this model is shipped.

| file | what it is for |
|---|---|
| `am/final.mdl` | transition model and network (Kaldi nnet3, binary) |
| `conf/` | features and decoding settings |
| `lexicon.txt` | each word with its phones, a line for each way to say it; the decoding graphs are written from it |
| `graph/words.txt`, `graph/phones.txt`, `graph/phones/word_boundary.int` | the numbers of words and phones, and which phones begin and end words |
| `graph/HCLr.fst`, `graph/Gr.fst`, `graph/disambig_tid.int` | a loop over all words, so that Vosk alone can load this directory; also the check on our own graphs |
| `manifest.sha256` | checksums of all of these, compared before the recogniser loads them |
"""


def model_card(lexicon: Lexicon, voices: str) -> str:
    """The text of the directory's README; `voices` are the rows of `speakers.card`."""
    return _CARD.format(words=len(lexicon.ways), voices=voices)


def write_manifest(folder: Path) -> None:
    """Checksums of all files but this one and the README, as `sha256sum` writes them."""
    lines = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and name not in (MANIFEST, "README.md", ".gitattributes"):
            lines.append(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {name}\n")
    (folder / MANIFEST).write_text("".join(lines), encoding="ascii", newline="\n")


def vector_fst(final: list[float], arcs: list[list[_Arc]]) -> bytes:
    """OpenFst's `vector` form (tropical semiring, start 0): final costs, and arcs (input, output, cost, target)."""

    def name(text: str) -> bytes:
        return struct.pack("<i", len(text)) + text.encode()

    header = struct.pack("<i", 2_125_659_606) + name("vector") + name("standard")
    out = [
        header,
        struct.pack("<iiQqqq", 2, 0, 0x3, 0, len(final), 0),
    ]  # expanded and mutable: no more is claimed
    for cost, leaving in zip(final, arcs, strict=True):
        out.append(struct.pack("<fq", cost, len(leaving)))
        out += [struct.pack("<iifi", *arc) for arc in leaving]
    return b"".join(out)


def _loop(acoustic: Acoustic) -> tuple[list[float], list[list[_Arc]]]:
    """A pause or none, then any word, over and over; words at once on the first arcs, in order of their numbers."""
    arcs: list[list[_Arc]] = [[], []]
    ends = _chain(acoustic, (acoustic.phone_numbers[SILENCE],), arcs, 0, 0, -math.log(PAUSE))
    for state in ends:
        arcs[state].append((0, 0, 0.0, 1))
    arcs[0].append((0, 0, -math.log(1 - PAUSE), 1))
    for number, word in enumerate(acoustic.words[1:], start=1):
        for way in acoustic.lexicon[word]:
            price = -BACKGROUND_REWARD if word == BACKGROUND else 0.0
            for state in _chain(acoustic, acoustic.in_place(way), arcs, 1, number, price):
                arcs[state].append((0, 0, 0.0, 0))
    for leaving in arcs:
        leaving.sort(key=lambda arc: arc[1])
    return [0.0 if state == 1 else _FINAL for state in range(len(arcs))], arcs


def _chain(
    acoustic: Acoustic, phones: tuple[int, ...], arcs: list[list[_Arc]], start: int, label: int, price: float
) -> list[int]:
    """Add the states of a word from `start` on; gives those after its last phone.

    Self-loops are where Kaldi's "reorder" puts them: on the state that the step out of a state leads to.
    """
    entries = [start]
    for phone in phones:
        states = acoustic.transitions.phones[phone]
        number: dict[tuple[int, int], int] = {}
        for state, ways in enumerate(states):
            for step in ways:
                if step.target != state:
                    number[state, step.target] = len(arcs)
                    arcs.append([])
        leaving = []
        for (source, here), index in number.items():
            arcs[index] += [(way.id, 0, way.cost, index) for way in states[source] if way.target == source]
            arcs[index] += [
                (way.id, 0, way.cost, number[here, way.target]) for way in states[here] if way.target != here
            ]
            if not states[here]:
                leaving.append(index)
        for entry in entries:
            arcs[entry] += [
                (way.id, label, way.cost + price, number[0, way.target])
                for way in states[0]
                if way.target != 0
            ]
        entries, label, price = leaving, 0, 0.0
    return entries
