"""The head of `am/final.mdl`: phones, their hidden states and transitions, in Kaldi's binary form.

Each speech phone has two emitting states, the first of which may be left for good after one frame;
silence has one state; noise has three in a row. The outputs of the network ("pdfs") are shared by the
four places of a phone in a word.
"""

import math
import struct

from trainer.ears.acoustic import SILENCE
from trainer.ears.training.lexicon import NOISE, PHONES
from trainer.ears.transition_model import TransitionModel, parse_transition_model

PLACES = "BEIS"
"""Begin, end, inside and single, the order in which Kaldi sorts their names."""

_SPEECH = ((0, ((0, 0.4), (1, 0.4), (2, 0.2))), (1, ((1, 0.5), (2, 0.5))))
_SILENCE = ((0, ((0, 0.5), (1, 0.5))),)
_NOISE = tuple((state, ((state, 0.5), (state + 1, 0.5))) for state in range(3))
_States = tuple[tuple[int, tuple[tuple[int, float], ...]], ...]


def phone_numbers() -> dict[str, int]:
    """The symbol table of phones, `<eps>` first."""
    names = ["<eps>", SILENCE, NOISE, *(f"{phone}_{place}" for phone in PHONES for place in PLACES)]
    return {name: number for number, name in enumerate(names)}


def pdf_of(phone: str, state: int) -> int:
    """The network's output for a state of a phone (its plain name)."""
    if phone == SILENCE:
        return 0
    if phone == NOISE:
        return 1 + state
    return 4 + 2 * PHONES.index(phone) + state


PDFS = 4 + 2 * len(PHONES)


def _integer(value: int) -> bytes:
    return struct.pack("<bi", 4, value)


def _real(value: float) -> bytes:
    return struct.pack("<bf", 4, value)


def _vector(values: list[int]) -> bytes:
    return _integer(len(values)) + struct.pack(f"<{len(values)}i", *values)


def _entry(states: _States) -> bytes:
    out = _integer(len(states) + 1)
    for pdf_class, ways in states:
        out += _integer(pdf_class) + _integer(len(ways))
        out += b"".join(_integer(target) + _real(probability) for target, probability in ways)
    return out + _integer(-1) + _integer(0)


def transition_model_bytes() -> bytes:
    """The TransitionModel, without the mark of a binary file before it."""
    numbers = phone_numbers()
    phones = list(range(1, len(numbers)))
    entries: list[_States] = [_SILENCE, _NOISE, _SPEECH]
    entry_of = [-1, *(min(phone - 1, 2) for phone in phones)]
    names = {number: name for name, number in numbers.items()}
    triples, probabilities = [], [0.0]
    for phone in phones:
        for state, ways in entries[entry_of[phone]]:
            triples.append((phone, state, pdf_of(names[phone].partition("_")[0], state)))
            probabilities += [probability for _, probability in ways]
    logs = _logarithms(probabilities)
    return b"".join(
        (
            b"<TransitionModel> <Topology> ",
            _vector(phones),
            _vector(entry_of),
            _integer(len(entries)),
            *(_entry(entry) for entry in entries),
            b"</Topology> <Triples> ",
            _integer(len(triples)),
            *(_integer(value) for triple in triples for value in triple),
            b"</Triples> <LogProbs> FV ",
            _integer(len(logs)),
            struct.pack(f"<{len(logs)}f", *logs),
            b"</LogProbs> </TransitionModel> ",
        )
    )


def _logarithms(probabilities: list[float]) -> list[float]:
    """Natural logarithms; the unused entry 0 stays 0."""
    return [math.log(probability) if probability else 0.0 for probability in probabilities]


def transition_model() -> TransitionModel:
    """The same, as the graph writer reads it."""
    return parse_transition_model(b"\0B" + transition_model_bytes())
