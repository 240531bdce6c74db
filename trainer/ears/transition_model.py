"""Kaldi's TransitionModel: the Markov states of every phone, as they stand at the head of `am/final.mdl`.

The decoding graph is made of its *transition ids*. They count from 1, triple by triple (phone, state,
pdf), and within a triple in the order in which the topology lists the state's transitions.
"""

import struct
from dataclasses import dataclass
from pathlib import Path

from trainer.ears.errors import ModelError

_REMEDY = "put the model's original file back, or choose another model"


@dataclass(frozen=True)
class Transition:
    """A way out of a state: `target` is a state of the same phone, `cost` is -ln(probability)."""

    id: int
    target: int
    cost: float


@dataclass(frozen=True)
class TransitionModel:
    """`phones[p]` lists the states of phone number p; the last state emits nothing and is the way out."""

    phones: dict[int, tuple[tuple[Transition, ...], ...]]
    pdfs: tuple[int, ...]
    """The output of the network that each transition id is scored by; entry 0 is unused (-1)."""


class _Reader:
    """Kaldi's binary basics: tokens end in a space, every number is led by its size in bytes."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    def expect(self, *tokens: str) -> None:
        for token in tokens:
            wanted = token.encode() + b" "
            if not self._data.startswith(wanted, self._at):
                raise ValueError(f"{token} not found at byte {self._at}")
            self._at += len(wanted)

    def _number(self, form: str) -> float:
        size, value = struct.unpack_from(f"<b{form}", self._data, self._at)
        if size != 4:
            raise ValueError(f"a number of 4 bytes is expected at byte {self._at}")
        self._at += 5
        return float(value)

    def integer(self) -> int:
        return int(self._number("i"))

    def real(self) -> float:
        return self._number("f")

    def _vector(self, count: int, form: str) -> tuple[float, ...]:
        values = struct.unpack_from(f"<{count}{form}", self._data, self._at)
        self._at += 4 * count
        return values

    def integers(self) -> tuple[int, ...]:
        return tuple(int(value) for value in self._vector(self.integer(), "i"))

    def reals(self) -> tuple[float, ...]:
        self.expect("FV")
        return self._vector(self.integer(), "f")


def _topologies(reader: _Reader) -> dict[int, tuple[tuple[int, ...], ...]]:
    """For each phone, for each state, the states that it leads to."""
    reader.expect("<Topology>")
    phones, entry_of = reader.integers(), reader.integers()
    count = reader.integer()
    if count == -1:  # the longer form, where forward and self-loop pdf classes may differ
        raise ValueError("forward and self-loop states of their own are not supported")
    entries = []
    for _ in range(count):
        states = []
        for _ in range(reader.integer()):
            reader.integer()  # the pdf class, which the triples below make superfluous
            arcs = []
            for _ in range(reader.integer()):
                arcs.append(reader.integer())
                reader.real()  # where training began; the probabilities in use come last in the file
            states.append(tuple(arcs))
        entries.append(tuple(states))
    reader.expect("</Topology>")
    return {phone: entries[entry_of[phone]] for phone in phones}


def parse_transition_model(data: bytes) -> TransitionModel:
    """Raise ValueError, IndexError or struct.error where the bytes are not a whole binary TransitionModel."""
    if not data.startswith(b"\0B"):
        raise ValueError("not in Kaldi's binary form")
    reader = _Reader(data[2:])
    reader.expect("<TransitionModel>")
    topologies = _topologies(reader)
    reader.expect("<Triples>")
    triples = [(reader.integer(), reader.integer(), reader.integer()) for _ in range(reader.integer())]
    reader.expect("</Triples>", "<LogProbs>")
    log_probabilities = reader.reals()
    reader.expect("</LogProbs>", "</TransitionModel>")

    states = {phone: [()] * len(topology) for phone, topology in topologies.items()}  # type: dict[int, list[tuple[Transition, ...]]]
    pdfs = [-1]
    for phone, state, pdf in triples:
        transitions = []
        for target in topologies[phone][state]:
            number = len(pdfs)
            transitions.append(Transition(number, target, -log_probabilities[number]))
            pdfs.append(pdf)
        states[phone][state] = tuple(transitions)
    if len(pdfs) != len(log_probabilities):
        raise ValueError("as many probabilities as transitions are expected")
    return TransitionModel({phone: tuple(parts) for phone, parts in states.items()}, tuple(pdfs))


def read_transition_model(path: Path) -> TransitionModel:
    """Read it from the head of an acoustic model; ModelError if it is not there in full."""
    try:
        with path.open("rb") as file:
            head = file.read(4_000_000)  # the rest is the network
    except OSError as error:
        raise ModelError(path, f"cannot be read ({error.strerror})", _REMEDY) from error
    try:
        return parse_transition_model(head)
    except (ValueError, IndexError, KeyError, struct.error) as error:
        raise ModelError(path, f"is not a whole acoustic model ({error})", _REMEDY) from error
