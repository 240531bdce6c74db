"""From nothing to flying on a field of one's own: the real commands in a terminal, typed as a person types.

    python -m tests.benchmarks.new_field_time [--airport KLAX]

`new-field --airport`, its questions, then `fly` there until the flight screen is drawn. Each letter takes 0.3 s
(200 a minute, 40 words, the usual measure of an unpractised typist; from memory), and each question 3 s before
the answer is begun (our own choice). Aim: two minutes. `tests/test_airports.py` counts the letters alone.
"""

import argparse
import os
import pty
import resource
import select
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.test_airports import LETTERS_A_MINUTE

A_LETTER_S, A_QUESTION_S = 60.0 / LETTERS_A_MINUTE, 3.0
ANSWERS = ("30", "300", "8000", "left", "2100", "", "", "MILL 330 8", "TARN 150 9", "")
COMMAND = (sys.executable, "-c", "from trainer.cli import main; main()")


class Terminal:
    """A command in a terminal of 120 columns; what it draws is read as it comes."""

    def __init__(self, folder: Path, *words: str) -> None:
        self._end, other = pty.openpty()
        where = {"PATTERNVOICE_DATA": str(folder / "data"), "TERM": "xterm-256color", "COLUMNS": "120"}
        self.process = subprocess.Popen(
            [*COMMAND, *words], stdin=other, stdout=other, stderr=other, cwd=folder,
            env=os.environ | where, start_new_session=True,
        )  # fmt: skip
        os.close(other)

    def until(self, words: str, limit_s: float = 120.0) -> None:
        """RuntimeError with what was drawn if these words do not come."""
        drawn, begun = b"", time.monotonic()
        while words.encode() not in drawn:
            if not select.select([self._end], [], [], limit_s - (time.monotonic() - begun))[0]:
                raise RuntimeError(drawn[-500:].decode("utf-8", "replace"))
            drawn += os.read(self._end, 65536)

    def type(self, line: str) -> None:
        for letter in f"{line}\n":
            time.sleep(A_LETTER_S)
            os.write(self._end, letter.encode())


def typed(words: tuple[str, ...]) -> float:
    """Waits as long as it takes to type this command, and gives it in seconds."""
    seconds = A_LETTER_S * len(" ".join(("patternvoice", *words, "")))
    time.sleep(seconds)
    return seconds


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--airport", default="KLAX")
    airport = parser.parse_args().airport
    with tempfile.TemporaryDirectory() as name:
        folder, begun, person = Path(name), time.monotonic(), 0.0
        words = ("new-field", "--airport", airport, "--out", "mine.yaml")
        person += typed(words)
        asking = Terminal(folder, *words)
        for answer in ANSWERS:
            person += A_QUESTION_S + A_LETTER_S * len(f"{answer}\n")
            asking.until("): " if answer != "left" else ": ")
            time.sleep(A_QUESTION_S)
            asking.type(answer)
        asking.until("Written: ")
        asking.process.wait(60)
        written = time.monotonic() - begun
        words = ("fly", "--field", "mine.yaml", "--typed", "--no-sound")
        person += typed(words)
        flight = Terminal(folder, *words)
        flight.until("Tower")
        total = time.monotonic() - begun
        flight.process.terminate()
        flight.process.wait(60)
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = used.ru_utime + used.ru_stime
    print(
        f"the field is written after {written:.0f} s, the flight screen is there after {total:.0f} s;"
        f" {person:.0f} s are typing and reading, the commands took {processor:.1f} s of a processor"
    )


if __name__ == "__main__":
    main()
