"""The one error root of the application shell, and the sentence that any known error gives a user."""

from drills.errors import DrillError
from phraseology.errors import PhraseologyError
from trainer.ears.errors import EarsError
from trainer.logbook.errors import LogbookError
from trainer.pattern.errors import PatternError
from voices.errors import VoiceError


class TrainerError(Exception):
    """Something that the user can mend; the message says where and how."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem}: {remedy}")


KNOWN_ERRORS = (TrainerError, PhraseologyError, DrillError, EarsError, LogbookError, PatternError, VoiceError)
"""Errors that carry a sentence for the user; everything else is a fault of the program."""
