"""No test asserts how long anything takes: hypothesis is told so too. Its examples are the same in every run, so
that a run is red for a reason in the change; a long run (PATTERNVOICE_FUZZ) draws others."""

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from trainer.ears.vosk_ears import OwnGraphRecogniser
    from voices.speaker import WorkerSpeaker

settings.register_profile("untimed", deadline=None, derandomize="PATTERNVOICE_FUZZ" not in os.environ)
settings.load_profile("untimed")


@pytest.fixture(scope="module")
def speaker() -> "Iterator[WorkerSpeaker]":
    """The system's voices."""
    from voices.speaker import WorkerSpeaker

    with WorkerSpeaker() as worker:
        yield worker


@pytest.fixture(scope="module")
def ears() -> "OwnGraphRecogniser":
    """The recogniser with the shipped model."""
    from trainer.ears.vosk_ears import OwnGraphRecogniser

    return OwnGraphRecogniser()
