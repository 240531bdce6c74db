"""The embedded model: what is read from it, and what is said of one that is not whole."""

import math
import shutil
import struct
from collections import defaultdict
from pathlib import Path

import pytest

from trainer.ears.acoustic import BACKGROUND, SILENCE, load_acoustic
from trainer.ears.errors import ModelError
from trainer.ears.model_files import SHIPPED_MODEL, check_manifest, check_model_files, probe_model
from trainer.ears.transition_model import Transition, parse_transition_model

Machine = list[tuple[float, list[tuple[int, int, float, int]]]]
Way = list[tuple[int, float]]


def read_vector_fst(path: Path) -> Machine:
    """OpenFst's `vector` form: for each state its final cost and its arcs (input, output, cost, target)."""
    data = path.read_bytes()
    at = 4 + 4 + len("vector") + 4 + len("standard")
    _, _, _, _, states, _ = struct.unpack_from("<iiQqqq", data, at)
    at += 40
    machine = []
    for _ in range(states):
        final, count = struct.unpack_from("<fq", data, at)
        at += 12
        machine.append((final, [struct.unpack_from("<iifi", data, at + 16 * k) for k in range(count)]))
        at += 16 * count
    assert at == len(data)
    return machine


def test_lexicon_and_topology_give_the_chains_of_the_published_loop() -> None:
    """HCLr.fst was made by the training tools; its words, expanded again from the lexicon, equal it."""
    acoustic = load_acoustic(SHIPPED_MODEL)
    machine = read_vector_fst(SHIPPED_MODEL / "graph" / "HCLr.fst")
    junction = next(arc[3] for arc in machine[0][1] if arc[0] == 0)

    published: dict[str, list[Way]] = defaultdict(list)
    for tid, label, cost, state in machine[junction][1]:
        published[acoustic.words[label]] += _paths(machine, state, [(tid, round(cost, 4))])
    ours: dict[str, list[Way]] = defaultdict(list)
    trained = (SHIPPED_MODEL / "lexicon.txt").read_text().splitlines()
    for word in {line.split()[0] for line in trained}:
        for way in acoustic.lexicon[word]:
            begun: list[Way] = [[]]
            for phone in acoustic.in_place(way):
                begun = [
                    path + tail for path in begun for tail in _phone_paths(acoustic.transitions.phones[phone])
                ]
            ours[word] += begun
    reward = 3.0  # the training tools' price for background, on its first arc
    ours[BACKGROUND] = [[(path[0][0], path[0][1] - reward), *path[1:]] for path in ours[BACKGROUND]]

    assert len(ours) > 350
    assert published.keys() == ours.keys()
    for word, paths in published.items():
        assert sorted(_rounded(path) for path in paths) == sorted(_rounded(path) for path in ours[word]), word


def _rounded(path: Way) -> tuple[tuple[int, int], ...]:
    return tuple((tid, round(100 * cost)) for tid, cost in path)


def _paths(machine: Machine, state: int, begun: Way) -> list[Way]:
    """The ways on to the end of the word, without staying anywhere: self-loops are checked on the way."""
    loops = [arc for arc in machine[state][1] if arc[3] == state]
    assert len(loops) == 1, "each state of a chain can be stayed in"
    begun = [*begun, (-loops[0][0], loops[0][2])]
    onward = [arc for arc in machine[state][1] if arc[3] != state]
    if any(arc[0] == 0 for arc in onward):
        return [begun]
    return [
        path for tid, _, cost, target in onward for path in _paths(machine, target, [*begun, (tid, cost)])
    ]


def _phone_paths(states: tuple[tuple[Transition, ...], ...]) -> list[Way]:
    """The ways through a phone: each step out of a state, then that state's self-loop (as minus its id)."""
    done: list[Way] = []
    begun: list[tuple[int, Way]] = [(0, [])]
    while begun:
        state, path = begun.pop()
        if not states[state]:
            done.append(path)
            continue
        (stay,) = (step for step in states[state] if step.target == state)
        for step in states[state]:
            if step.target != state:
                begun.append((step.target, [*path, (step.id, step.cost), (-stay.id, stay.cost)]))
    return done


def test_transition_ids_and_probabilities() -> None:
    acoustic = load_acoustic(SHIPPED_MODEL)
    model = acoustic.transitions
    ids = [step.id for states in model.phones.values() for steps in states for step in steps]
    assert sorted(ids) == list(range(1, len(model.pdfs)))
    for states in model.phones.values():
        assert not states[-1]
        for steps in states[:-1]:
            assert math.isclose(sum(math.exp(-step.cost) for step in steps), 1.0, abs_tol=1e-5)
    by_place = [model.phones[acoustic.phone_numbers[f"AA_{place}"]] for place in "BEIS"]
    pdfs = {tuple(model.pdfs[step.id] for steps in states for step in steps) for states in by_place}
    assert len(pdfs) == 1, "a phone sounds alike wherever it stands in the word"
    assert SILENCE in acoustic.phone_numbers


@pytest.mark.parametrize("kept", [0, 1, 100, 1560, 9000])
def test_a_cut_transition_model_is_refused(kept: int) -> None:
    head = (SHIPPED_MODEL / "am" / "final.mdl").read_bytes()[:20_000]
    parse_transition_model(head)
    with pytest.raises((ValueError, IndexError, struct.error)):
        parse_transition_model(head[:kept])


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SHIPPED_MODEL, tmp_path / "model"))


def _cut(path: Path, kept: int) -> None:
    path.write_bytes(path.read_bytes()[:kept])


def test_the_shipped_model_is_whole() -> None:
    check_manifest(SHIPPED_MODEL)
    check_model_files(SHIPPED_MODEL)
    listed = {line.split()[1] for line in (SHIPPED_MODEL / "manifest.sha256").read_text().splitlines()}
    there = {
        str(path.relative_to(SHIPPED_MODEL).as_posix()) for path in SHIPPED_MODEL.rglob("*") if path.is_file()
    }
    assert there - listed == {"manifest.sha256", "README.md", ".gitattributes"}


def test_manifest_names_the_bad_file(copied: Path) -> None:
    _cut(copied / "am" / "final.mdl", 5_000_000)
    with pytest.raises(ModelError, match=r"final\.mdl is cut short or was changed: install"):
        check_manifest(copied)
    (copied / "am" / "final.mdl").unlink()
    with pytest.raises(ModelError, match=r"final\.mdl is missing: install"):
        check_manifest(copied)
    with pytest.raises(ModelError, match="not a model of this program"):
        check_manifest(copied / "graph")


def test_a_directory_that_is_no_model(tmp_path: Path) -> None:
    for check in (check_model_files, load_acoustic):
        with pytest.raises(ModelError, match=r"is not a.* model.*am/final\.mdl"):
            check(tmp_path)


@pytest.mark.parametrize("kept", [0, 1000, 200_000, -1])
def test_a_cut_network_is_refused_before_vosk_sees_it(copied: Path, kept: int) -> None:
    _cut(copied / "am" / "final.mdl", kept)
    with pytest.raises(ModelError, match=r"final\.mdl is (cut short|empty): unpack or download"):
        check_model_files(copied)


def test_missing_and_empty_graphs_are_named(copied: Path) -> None:
    _cut(copied / "graph" / "Gr.fst", 0)
    with pytest.raises(ModelError, match=r"Gr\.fst is empty"):
        check_model_files(copied)
    (copied / "graph" / "HCLr.fst").unlink()
    with pytest.raises(ModelError, match=r"HCLr\.fst is missing"):
        check_model_files(copied)


def test_what_only_vosk_can_find_out_crashes_in_another_process(copied: Path) -> None:
    probe_model(copied)
    _cut(copied / "graph" / "HCLr.fst", 100_000)
    with pytest.raises(ModelError, match="is damaged or no Vosk model"):
        probe_model(copied)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("lexicon.txt", "sable S EY B AX L\n", "unknown phone 'AX_I'"),
        ("lexicon.txt", "unheardof S EY\n", "has the word 'unheardof', which graph/words.txt lacks"),
        ("lexicon.txt", "sable\n", "with no phones at all"),
        ("lexicon.txt", "sable S EY B AH L\n", r"has no \[unk\]"),
        ("graph/words.txt", "<eps> 0\nsable 2\n", "does not number its words"),
        ("graph/phones.txt", "SIL one\n", "not a table"),
    ],
)
def test_tables_at_odds_are_named(copied: Path, name: str, text: str, said: str) -> None:
    (copied / name).write_text(text)
    with pytest.raises(ModelError, match=said):
        load_acoustic(copied)
