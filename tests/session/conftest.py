"""A trainee who types: drives a session from prompt to prompt with words that a test chooses."""

from collections.abc import Callable

import pytest

from drills.check import load_drill, load_field
from phraseology.expected import Expected
from phraseology.heard import Heard
from trainer.session.events import Event
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

Saying = Callable[[Expected, int], str | Heard | None]
"""What is said at a prompt, given how often that prompt has come before; None is silence."""


def speech_seconds(station: str, words: str) -> float:
    """About 170 words a minute."""
    return 0.35 * len(words.split()) + 0.4


def model_calls(prompt: Expected, times: int) -> str:
    return prompt.model_call


class TypingTrainee:
    """Flies a session to its end and keeps its events."""

    def __init__(self, plan: SessionPlan) -> None:
        self.session = Session(plan, speech_seconds)
        self.events: list[Event] = []
        self.prompts: list[str] = []

    def fly(self, saying: Saying = model_calls, until: float = 4000.0) -> list[Event]:
        silent: set[int] = set()
        while self.session.ended is None and self.session.now < until:
            self.events += self.session.advance(self.session.now + 0.5)
            prompt = self.session.prompt
            if prompt is None or self.session.on_air or self.session.ended or id(prompt) in silent:
                continue
            times = self.prompts.count(prompt.name)
            said = saying(prompt, times)
            if said is None:
                continue
            self.prompts.append(prompt.name)
            self.session.trainee_keys()
            self.events += self.session.advance(self.session.now + 3.0)
            self.events += self.session.trainee_said(Heard.typed(said) if isinstance(said, str) else said)
        return self.events

    def of(self, kind: type[Event]) -> list:
        return [event for event in self.events if isinstance(event, kind)]


@pytest.fixture
def drill_plan() -> Callable[[str], SessionPlan]:
    def plan(name: str) -> SessionPlan:
        drill = load_drill(name)
        return SessionPlan.of_drill(drill, load_field(drill.field))

    return plan


@pytest.fixture
def trainee(drill_plan) -> Callable[[str], TypingTrainee]:
    return lambda name: TypingTrainee(drill_plan(name))


@pytest.fixture
def typing_trainee() -> type[TypingTrainee]:
    return TypingTrainee
