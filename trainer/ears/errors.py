"""What can go wrong on the way in, each with the line that cures it."""

from collections.abc import Sequence
from pathlib import Path


class EarsError(Exception):
    """Root of this package's errors: `problem` says what and where, `remedy` what to do about it."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem}: {remedy}")
        self.problem = problem
        self.remedy = remedy


class ModelError(EarsError):
    """A model directory, or a file in it, cannot be used."""

    def __init__(self, path: Path, problem: str, remedy: str) -> None:
        super().__init__(f"{path} {problem}", remedy)
        self.path = path


class MissingWordsError(EarsError):
    """A situation needs words that the recogniser can never hear."""

    def __init__(self, words: Sequence[str], recogniser: str) -> None:
        super().__init__(
            f"{recogniser} cannot hear {', '.join(words)}",
            "use other words in the drill or field file, or a model that knows them",
        )
        self.words = tuple(words)


class MicrophoneError(EarsError):
    """No sound can be taken in."""


class FetchError(EarsError):
    """A model could not be downloaded."""
