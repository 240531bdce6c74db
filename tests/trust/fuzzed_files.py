"""Readers of drills, fields, tables, sounds, models and what the program keeps, for `fuzzing.py`: valid files to
begin with, and how one is read. A reader may raise the program's own errors; anything else is a fault."""

import contextlib
import csv
import io
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from drills.check import examine_file, load_field
from drills.drill import Drill
from trainer import field_checks
from trainer.commands.check import complete
from trainer.commands.hear import read_call
from trainer.ears.acoustic import load_acoustic
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest, check_model_files
from trainer.errors import KNOWN_ERRORS, TrainerError
from trainer.logbook.recordings import piece
from trainer.school.cells import csv_text
from trainer.school.classroom import open_class
from trainer.school.corrections import corrections
from trainer.school.grading import as_table
from trainer.school.ledger import Ledger
from voices.wav import read_wav

Read = Callable[[bytes], None]
Seeds = Callable[[], Iterable[bytes]]
DRILLS = Path(__file__).parents[2] / "drills"
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


@dataclass(frozen=True)
class Reader:
    """`make` is given an empty folder and returns what reads one input there; `kind` as in `mutating.py`."""

    kind: str
    seeds: Seeds
    make: Callable[[Path], Read]
    most: int = 4_000
    """Bytes of an input."""


def tried(*hows: Callable[[], Any]) -> None:
    """Each, whatever known error those before it had; where none went well the first of these errors is raised."""
    found = []
    for how in hows:
        try:
            how()
        except KNOWN_ERRORS as error:
            found.append(error)
    if len(found) == len(hows):
        raise found[0]


def files(*names: str) -> Seeds:
    return lambda: [(DRILLS / name).read_bytes() for name in names]


def as_lines(*values: Any) -> Seeds:
    """JSON values, one a line."""
    return lambda: [b"\n".join(json.dumps(value).encode() for value in values)]


def check_cells(written: str) -> None:
    """OWASP, "CSV Injection": no cell begins as a formula does; a number is none."""
    for row in csv.reader(io.StringIO(written, newline="")):
        for cell in row:
            with contextlib.suppress(ValueError):
                float(cell)
                continue
            assert not cell.lstrip(" ").startswith(FORMULA), "a formula in a table"


def yaml_reader(folder: Path) -> Read:
    path = folder / "a.yaml"

    def read(data: bytes) -> None:
        path.write_bytes(data)
        found = examine_file(path)
        assert all(str(finding).isprintable() for finding in found.findings), "a terminal would obey it"
        if found.has_errors:
            raise TrainerError("refused", "with all that is wrong in it")
        drill = found.content
        if drill is not None:
            field = load_field(drill.field) if isinstance(drill, Drill) else drill
            list(field_checks.problems(field))

    return read


def flown_reader(folder: Path) -> Read:
    path = folder / "a.yaml"

    def read(data: bytes) -> None:
        path.write_bytes(data)
        complete(examine_file(path))

    return read


def table_reader(name: str, texts: Callable[[Path], Iterable[str]]) -> Callable[[Path], Read]:
    """A table; `texts` are read from it, and written as CSV they must be no formula."""

    def make(folder: Path) -> Read:
        def read(data: bytes) -> None:
            (folder / name).write_bytes(data)
            check_cells(csv_text(["a"], [[text] for text in texts(folder)]))

        return read

    return make


def sound_reader(name: str) -> Callable[[Path], Read]:
    def make(folder: Path) -> Read:
        path = folder / name

        def read(data: bytes) -> None:
            path.write_bytes(data)
            tried(
                lambda: read_call(path),
                lambda: read_wav(path),
                lambda: piece(path, 0.01, 0.05),
                lambda: piece(path, 0.0, 1e7),
            )

        return read

    return make


def sounds(kind: str) -> Seeds:
    def seeds() -> Iterable[bytes]:
        noise = np.random.default_rng(1).integers(-3000, 3000, 400).astype(np.int16)
        for subtype in ("PCM_16", "PCM_24", *(("FLOAT", "PCM_U8", "IMA_ADPCM") if kind == "WAV" else ())):
            out = io.BytesIO()
            soundfile.write(out, noise, 16_000, format=kind, subtype=subtype)
            yield out.getvalue()

    return seeds


def kept_reader(name: str, read_it: Callable[[], Any]) -> Callable[[Path], Read]:
    """A file of the data folder."""

    def make(folder: Path) -> Read:
        def read(data: bytes) -> None:
            (folder / name).write_bytes(data)
            read_it()

        return read

    return make


def class_reader(folder: Path) -> Read:
    """The first line is class.json, the rest corrections.json."""
    inside = folder / "classes" / "a"
    inside.mkdir(parents=True)

    def read(data: bytes) -> None:
        first, _, rest = data.partition(b"\n")
        (inside / "class.json").write_bytes(first)
        (inside / "corrections.json").write_bytes(rest)
        room = open_class("a")
        room.student("7")
        corrections(room)

    return read


def ledger_reader(folder: Path) -> Read:
    """Every row of it is asked for, as one is whose recording is there."""
    path = folder / "grades.jsonl"

    def read(data: bytes) -> None:
        path.write_bytes(data)
        ledger = Ledger.open(path)
        for line in path.read_bytes().splitlines():
            ledger.knows(json.loads(line)["key"])
        check_cells(as_table(ledger.rows))

    return read


MODEL_FILES = (
    "manifest.sha256",
    "am/final.mdl",
    "graph/phones.txt",
    "graph/words.txt",
    "lexicon.txt",
    "conf/mfcc.conf",
)
TRANSITIONS_END = b"</TransitionModel> "


def small_model() -> dict[str, bytes]:
    """The shipped model's files that we read, with few words and without the network's matrices."""
    found = {name: (SHIPPED_MODEL / name).read_bytes() for name in MODEL_FILES}
    network = found["am/final.mdl"]
    end = network.index(TRANSITIONS_END) + len(TRANSITIONS_END)
    found["am/final.mdl"] = network[:end] + b"<Priors> FV \x04\1\0\0\0abcd"
    words = [line for line in found["graph/words.txt"].splitlines() if int(line.split()[1]) < 12]
    known = {line.split()[0] for line in words}
    lexicon = [line for line in found["lexicon.txt"].splitlines() if line.split()[0] in known]
    return {**found, "graph/words.txt": b"\n".join(words), "lexicon.txt": b"\n".join(lexicon)}


def model_seeds() -> Iterable[bytes]:
    for number, content in enumerate(small_model().values()):
        yield bytes([number]) + content


def model_reader(folder: Path) -> Read:
    """The first byte says which file of the model the rest of the input is."""
    whole = small_model()
    for name, content in {**whole, "graph/HCLr.fst": b"x", "graph/Gr.fst": b"x"}.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    looks = (check_manifest, check_model_files, load_acoustic)

    def read(data: bytes) -> None:
        name = MODEL_FILES[(data[0] if data else 0) % len(MODEL_FILES)]
        (folder / name).write_bytes(data[1:])
        try:
            tried(*(lambda look=look: look(folder) for look in looks))
        finally:
            (folder / name).write_bytes(whole[name])

    return read
