"""The shape of a standard: its rules with their sources, and the words that it alone uses."""

from collections.abc import Mapping
from dataclasses import dataclass

from phraseology.elements import Kind


@dataclass(frozen=True)
class Rule:
    """One rule in a sentence, and where it stands. `source` names a publication, or says
    "common practice" or "from memory"."""

    text: str
    source: str

    def __str__(self) -> str:
        return f"{self.text} ({self.source})"


@dataclass(frozen=True)
class Standard:
    """`controller_forms` are the controller's words where they differ from the pilot's for the same thing."""

    name: str
    title: str
    rules: Mapping[str, Rule]
    controller_forms: Mapping[tuple[Kind, str], str]
