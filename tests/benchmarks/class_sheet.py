"""How long a class sheet takes where 1k, 10k and 50k calls were collected, beside `logbook_size.py`.

    python tests/benchmarks/class_sheet.py [--calls 1000 10000 50000] [--students 20]

Stated ceiling: the class sheet under 1 s at 50,000 calls. The sessions are those of `logbook_size.py`, dealt
out to the students in turn; three calls are corrected. Best of three, the opening of the logbook included.
"""

import argparse
import json
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from phraseology.assess import Verdict
from tests.benchmarks.logbook_size import best_of_three, fill
from trainer.logbook.store import FILE_NAME
from trainer.school.classroom import Assigned, Classroom, _Written
from trainer.school.corrections import correct
from trainer.school.counting import class_figures
from trainer.school.roster import Student
from trainer.school.sheet_page import class_page
from trainer.school.sheets import class_csv, sheet_files

CEILING_S = 1.0


def collected(folder: Path, calls: int, students: int) -> tuple[Classroom, int]:
    """A class with at least so many calls; returns how many too."""
    there = fill(folder, calls)
    written = _Written(
        students=tuple(Student(number=str(number)) for number in range(1, students + 1)),
        drills=(Assigned(drill="first_flight", title="First flight at Corbel Field"),),
    )
    with closing(sqlite3.connect(folder / FILE_NAME)) as direct, direct:
        direct.execute(
            "UPDATE sessions SET meta = json_set(meta, '$.student', CAST(1 + id % ? AS TEXT))", (students,)
        )
    room = Classroom("Benchmark", folder, written)
    for call in (1, 2, 3):
        correct(room, 1, call, "callsign", Verdict.NONSTANDARD, "for the benchmark")
    return room, there


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calls", type=int, nargs="+", default=[1000, 10_000, 50_000])
    parser.add_argument("--students", type=int, default=20)
    said = parser.parse_args()
    for calls in said.calls:
        with tempfile.TemporaryDirectory() as name:
            room, there = collected(Path(name), calls, said.students)

            def sheet(room: Classroom = room) -> object:
                figures = class_figures(room)
                return class_page(figures, "today"), class_csv(figures), json.dumps(figures.as_json())

            def everything(room: Classroom = room) -> object:
                return list(sheet_files(class_figures(room), "today"))

            class_s, all_s = best_of_three(sheet), best_of_three(everything)
            print(
                f"{there:>6} calls, {said.students} students: class sheet {class_s:.3f} s,"
                f" with every student's {all_s:.3f} s",
                flush=True,
            )
            if class_s > CEILING_S:
                print(f"       the class sheet is over the ceiling of {CEILING_S:g} s")


if __name__ == "__main__":
    main()
