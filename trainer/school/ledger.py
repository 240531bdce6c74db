"""What has been judged of a folder of recordings, each key once, on the disk at once."""

import json
import os
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict

from trainer.errors import TrainerError
from trainer.school.regrading import Graded


class _Verdict(BaseModel):
    model_config = ConfigDict(extra="allow", strict=True)

    accepted: bool
    score: int
    call: str | None = None


class _Row(BaseModel):
    """What is read of a line; more may stand beside it."""

    model_config = ConfigDict(extra="allow", strict=True)

    key: str
    file: str
    problem: str | None
    assessment: _Verdict | None
    was: _Verdict | None
    text: str | None = None
    recognised: str | None = None


class Ledger:
    """The lines of a file: a new one is on the disk before `add` returns. What failed is not kept, so that it
    is tried again; what is no longer asked for is kept, but not among `rows`."""

    def __init__(self, path: Path, kept: dict[str, dict[str, Any]]) -> None:
        self._path = path
        self._kept = kept
        self._asked: dict[str, dict[str, Any]] = {}

    @classmethod
    def open(cls, path: Path) -> "Ledger":
        """With what it holds; a last line that was broken off is cut off. TrainerError for any other."""
        kept: dict[str, dict[str, Any]] = {}
        if path.exists():
            written = path.read_bytes()
            whole = written[: written.rfind(b"\n") + 1]
            if len(whole) < len(written):
                os.truncate(path, len(whole))
            for number, line in enumerate(whole.splitlines(), 1):
                try:
                    row = json.loads(line)
                    kept[_Row.model_validate(row).key] = row
                except (ValueError, RecursionError):
                    raise TrainerError(
                        f"{path}, line {number}, is none of ours", "move the file away"
                    ) from None
        return cls(path, kept)

    def knows(self, key: str) -> bool:
        """It was judged in this run or an earlier one; from now on it is among `rows`."""
        if key in self._kept:
            self._asked[key] = self._kept[key]
        return key in self._kept

    def add(self, graded: Graded) -> bool:
        """Keep it; False if it was there already."""
        if self.knows(graded.key):
            return False
        self._asked[graded.key] = graded.result
        if graded.problem is None:
            self._kept[graded.key] = graded.result
            with self._path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(graded.result, ensure_ascii=False) + "\n")
                file.flush()
                os.fsync(file.fileno())
        return True

    @property
    def rows(self) -> list[dict[str, Any]]:
        """All that was asked for, by file."""
        return sorted(self._asked.values(), key=lambda row: str(row["file"]))
