"""What was heard, kept line by line while a run goes on, so that one that was stopped can be resumed."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from engines import Hearing

from phraseology.heard import Heard, HeardBy, HeardWord


class Kept:
    """The hearings in a file of JSON lines. They belong to the program as it was when they were written."""

    def __init__(self, path: Path, resume: bool) -> None:
        self._known: dict[str, Hearing] = {}
        if resume and path.exists():
            lines = path.read_text(encoding="utf-8").splitlines()
            self._known = dict(_read(json.loads(line)) for line in lines if line.endswith("}"))
        path.parent.mkdir(parents=True, exist_ok=True)
        self._file = path.open("a" if resume else "w", encoding="utf-8")

    def get(self, key: str) -> Hearing | None:
        return self._known.get(key)

    def put(self, key: str, hearing: Hearing) -> None:
        self._file.write(json.dumps({"key": key, **asdict(hearing)}) + "\n")
        self._file.flush()

    def close(self) -> None:
        self._file.close()


def _read(row: dict[str, Any]) -> tuple[str, Hearing]:
    words = tuple(HeardWord(**word) for word in row["heard"]["words"])
    times = (row["after_s"], row["busy_s"], row["prepare_s"])
    return row["key"], Hearing(Heard(words, HeardBy(row["heard"]["by"])), *times)
