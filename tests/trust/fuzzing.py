"""Every reader of what comes from outside, given spoilt files by the hundred thousand. A script, not a test:

    python tests/trust/fuzzing.py --reader drill --inputs 100000 --seed 1 --keep faults

Inputs are valid files changed (`mutating.py`); where atheris is installed (`pip install atheris`) what reaches new
lines of our code is changed further, else the choice is blind. Each reader runs in a process of its own (Linux). A
fault is any exception but the program's own errors, more than 2 s of processor time for an input, more than 500 MB, a
death of the process, and any writing, deleting, connecting or starting outside the reader's folder, which is prevented.
The table counts inputs, not repetitions of a fault; each fault's first input is kept.
"""

import argparse
import contextlib
import importlib.util
import io
import json
import os
import resource
import shutil
import sys
import tempfile
import time
import traceback
from pathlib import Path
from random import Random
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
MOST_MEMORY = 3_000_000_000
"""Address space of a process: beyond it memory is refused, which is a fault too."""
WATCHED = ["drills", "trainer", "voices"]
"""What atheris looks into; to prepare them takes a minute of processor time."""
COUNTS = {
    "drill": 60_000, "field": 60_000, "flown": 200, "roster": 150_000, "questions": 100_000, "wav": 60_000,
    "flac": 60_000, "settings": 120_000, "microphone": 120_000, "class": 100_000, "ledger": 100_000,
    "model": 60_000, "archive": 40_000, "results": 60_000, "collected": 20_000, "logbook": 20_000, "rows": 20_000,
}  # fmt: skip
"""Inputs of each reader when none are named."""


def readers() -> dict[str, Any]:
    """All of them; imported here so that atheris can watch our modules from the first line on."""
    from tests.trust import fuzzed_files as f
    from tests.trust import fuzzed_sessions as s
    from tests.trust.test_hostile_files import CALIBRATION, CLASS, CORRECTION, QUESTIONS, ROSTER, SETTINGS
    from trainer import microphone_check
    from trainer.errors import TrainerError
    from trainer.models import chosen_model
    from trainer.school.questions import LIST, listed_questions
    from trainer.school.roster import read_roster
    from trainer.settings import load_settings

    row = {"key": "k", "file": "a", "problem": None, "assessment": None, "was": None, "text": "a"}
    judged = {**row, "key": "l", "assessment": {"call": "initial", "accepted": True, "score": 9},
              "was": {"accepted": False, "score": 1}}  # fmt: skip

    def students(folder: Path) -> list[str]:
        return [text for each in read_roster(folder / "r.csv") for text in (each.name, each.number)]

    def settings() -> None:
        notice = load_settings()[1]
        with contextlib.redirect_stderr(io.StringIO()), contextlib.suppress(TrainerError):
            chosen_model()
        if notice:
            raise TrainerError(notice, "refused")

    def microphone() -> None:
        found, notice = microphone_check.kept()
        if found is None:
            raise TrainerError(str(notice), "refused")

    made = f.Reader
    return {
        "drill": made("lines", f.files("library/first_flight.yaml", "library/any_day.yaml"), f.yaml_reader),
        "field": made("lines", f.files("fields/corbel.yaml"), f.yaml_reader),
        "flown": made("lines", f.files("library/first_circuit.yaml"), f.flown_reader),
        "roster": made("lines", lambda: [ROSTER], f.table_reader("r.csv", students)),
        "questions": made("lines", lambda: [QUESTIONS], f.table_reader(LIST, listed_questions)),
        "wav": made("bytes", f.sounds("WAV"), f.sound_reader("a.wav")),
        "flac": made("bytes", f.sounds("FLAC"), f.sound_reader("a.flac")),
        "settings": made("json", f.as_lines(SETTINGS), f.kept_reader("settings.json", settings)),
        "microphone": made("json", f.as_lines(CALIBRATION), f.kept_reader(microphone_check.FILE, microphone)),
        "class": made("lines", f.as_lines(CLASS, CORRECTION), f.class_reader),
        "ledger": made("lines", f.as_lines(row, judged), f.ledger_reader),
        "model": made("bytes", f.model_seeds, f.model_reader, 12_000),
        "archive": made("zip", s.archives, s.archive_reader),
        "results": made("json", s.sessions, s.results_reader, 12_000),
        "collected": made("json", s.sessions, s.collected_reader, 12_000),
        "logbook": made("bytes", s.logbooks, s.logbook_reader, 150_000),
        "rows": made("json", s.recorded, s.rows_reader, 12_000),
    }  # fmt: skip


# -- one reader, in a process of its own -----------------------------------------------------------------------


def child(name: str, reader: Any, inputs: int, seed: int, out: Path, atheris: Any) -> None:
    """Run one reader here. Does not return."""
    from tests.trust.mutating import mutated
    from tests.trust.watching import Watch, guard

    folder = Path(tempfile.mkdtemp(dir=out))
    os.environ["PATTERNVOICE_DATA"] = str(folder)
    seeds = list(reader.seeds())
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    watch = Watch(reader.make(folder), out, inputs)
    watch.one(seeds[0])
    if watch.accepted != 1:
        sys.exit(f"{name}: the first file is no valid one")
    guard(watch, out)
    random = Random(seed)
    while atheris is None:
        data = mutated(random.choice(seeds), reader.kind, reader.most, random.getrandbits(62))
        if watch.one(data) and len(seeds) < 200:
            seeds.append(data)  # still valid: may be changed further
    (out / "seeds").mkdir(exist_ok=True)
    for number, each in enumerate(seeds):
        (out / "seeds" / str(number)).write_bytes(each)

    def change(data: bytes, most: int, number: int) -> bytes:
        if number % 4 == 0:
            return bytes(atheris.Mutate(data, min(most, reader.most)))
        return mutated(data, reader.kind, min(most, reader.most), number)

    def one(data: bytes) -> None:
        watch.one(data)

    options = (
        f"-seed={seed} -max_len={reader.most} -runs=-1 -rss_limit_mb=0 -len_control=0 -verbosity=0".split()
    )
    atheris.Setup([name, *options, str(out / "seeds")], one, custom_mutator=change)
    atheris.Fuzz()


# -- all of them ------------------------------------------------------------------------------------------------


def run(name: str, reader: Any, inputs: int, seed: int, keep: Path, atheris: Any) -> dict[str, Any]:
    """Run a reader until it has had so many inputs, a new process for one that died; its figures."""
    memory = "/dev/shm" if os.path.isdir("/dev/shm") else None
    out = Path(tempfile.mkdtemp(prefix=f"fuzz-{name}-", dir=memory)).resolve()
    total: dict[str, Any] = {"inputs": 0, "refused": 0, "accepted": 0, "slowest_ms": 0, "largest_mb": 0}
    faults: dict[str, str] = {}
    for attempt in range(20):
        if total["inputs"] >= inputs:
            break
        status = forked(out / "log", name, reader, inputs - total["inputs"], seed + attempt, out, atheris)
        found = list(out.glob("figures-*.json"))
        if not found:
            faults[f"did not start: {(out / 'log').read_text(errors='replace')[-400:]}"] = "log"
            break
        part = json.loads(found[0].read_text())
        found[0].unlink()
        for key in total:
            total[key] = (
                max(total[key], part[key]) if key in ("slowest_ms", "largest_mb") else total[key] + part[key]
            )
        faults |= part["faults"]
        if status:
            faults[f"the process ended ({status})"] = "now"
    for number, (fault, file) in enumerate(faults.items()):
        (keep / name).mkdir(parents=True, exist_ok=True)
        (keep / name / f"{number}.txt").write_text(fault + "\n")
        shutil.copyfile(out / file, keep / name / f"{number}.input")
    shutil.rmtree(out, ignore_errors=True)
    return {**total, "faults": faults}


def forked(log: Path, *how: Any) -> int:
    """`child` in a process of its own, what it prints in `log`; its exit status, negative for a signal."""
    pid = os.fork()
    if pid == 0:
        paper = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(paper, 1)
        os.dup2(paper, 2)
        try:
            child(*how)
        except BaseException:
            traceback.print_exc()
        os._exit(1)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--reader", action="append", choices=COUNTS, help="may be given again; all without it")
    ask.add_argument("--inputs", type=int, help="of each; else as many as its speed allows, 1,000,000 in all")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument(
        "--keep", type=Path, default=Path("faults"), help="folder of the inputs that made a fault"
    )
    ask.add_argument("--blind", action="store_true", help="without atheris, though it is there")
    given = ask.parse_args()
    atheris = None
    if not given.blind and importlib.util.find_spec("atheris"):
        atheris = importlib.import_module("atheris")
        with atheris.instrument_imports(include=WATCHED, enable_loader_override=False):
            known = readers()
    else:
        known = readers()
    print(
        "| reader | inputs | refused | accepted | slowest ms | largest MB | faults | minutes |\n|---|---|---|---|---|---|---|---|"
    )
    faults: list[str] = []
    for name in given.reader or COUNTS:
        begun = time.monotonic()
        found = run(name, known[name], given.inputs or COUNTS[name], given.seed, given.keep, atheris)
        minutes = (time.monotonic() - begun) / 60
        print(
            f"| {name} | {found['inputs']:,} | {found['refused']:,} | {found['accepted']:,} | {found['slowest_ms']:.0f}"
            f" | {found['largest_mb']:.0f} | {len(found['faults'])} | {minutes:.1f} |",
            flush=True,
        )
        faults += [f"{name}: {fault}" for fault in found["faults"]]
    print("\n".join(faults))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
