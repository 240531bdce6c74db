"""The shape of a standard: its rules with their sources, its number forms, the words that it alone uses."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from phraseology.elements import Kind, Severity
from phraseology.figures import NumberStyle

Words = Mapping[tuple[Kind, str], tuple[str, ...]]


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
    """What differs from one country or service to the next.

    `words` are the standard forms of a value where they are not those of the phrase table; the first is
    the model form, and every other way to say it is understood but not standard. `controller_words` are
    what the controller says where it differs from the pilot's words for the same thing.
    `missing` holds, by rule, how bad leaving an element out is where it is not what the catalogue says.
    `without_calls` and `without_replies` name what this standard does not have, each with the reason.
    """

    name: str
    title: str
    rules: Mapping[str, Rule]
    numbers: NumberStyle
    words: Words
    controller_words: Mapping[tuple[Kind, str], str]
    says_again: str
    """What the controller says before a message that was read back wrongly."""
    names_field_at_end: bool = True
    missing: Mapping[str, Severity] = field(default_factory=dict)
    without_calls: Mapping[str, str] = field(default_factory=dict)
    without_replies: Mapping[str, str] = field(default_factory=dict)
