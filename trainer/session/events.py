"""What happens in a session, as values. The logbook gets each before the screen does.

Times are session seconds. Every event turns into plain JSON by `as_json`.
"""

from dataclasses import asdict, dataclass
from typing import Any

from phraseology.assess import Assessment
from phraseology.heard import Heard


@dataclass(frozen=True)
class Event:
    at: float

    def as_json(self) -> dict[str, Any]:
        """The event as plain values, its class name under `event`."""
        return {"event": type(self).__name__, **asdict(self)}


@dataclass(frozen=True)
class LegEntered(Event):
    """An aircraft is on a new leg of the pattern; `trigger` is what put it there."""

    aircraft: str
    leg: str
    trigger: str


@dataclass(frozen=True)
class CallDue(Event):
    """The trainee has come to where a call belongs, or owes the tower an answer."""

    call: str
    model_call: str


@dataclass(frozen=True)
class OtherSpoke(Event):
    """Another aircraft transmits."""

    aircraft: str
    words: str


@dataclass(frozen=True)
class TowerSpoke(Event):
    """The tower transmits. `reasons` say why it decided so; they are for the debrief."""

    to: str
    reply: str
    words: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Blocked(Event):
    """Two stations keyed at once: what `station` said was not understood."""

    station: str


@dataclass(frozen=True)
class Arrived(Event):
    """Another aircraft comes on the frequency; `how` it arrives."""

    aircraft: str
    aircraft_class: str
    how: str


@dataclass(frozen=True)
class Left(Event):
    """Another aircraft has left: landed, departed, or turned away before it came."""

    aircraft: str
    why: str


@dataclass(frozen=True)
class TraineeSpoke(Event):
    """A call of the trainee, as heard and as judged."""

    heard: Heard
    assessment: Assessment

    def as_json(self) -> dict[str, Any]:
        return {
            "event": "TraineeSpoke",
            "at": self.at,
            "heard_by": self.heard.by.value,
            "words": [asdict(word) for word in self.heard.words],
            **self.assessment.as_json(),
        }


@dataclass(frozen=True)
class NotUnderstood(Event):
    """The trainee transmitted, and nothing of the trade was heard. It counts neither for nor against him."""


@dataclass(frozen=True)
class CallMissed(Event):
    """A call that was due was not made in time; `consequence` is what that led to."""

    call: str
    consequence: str


@dataclass(frozen=True)
class SessionEnded(Event):
    """The score is the mean of the calls' scores, 0 to 100; missed calls count as 0."""

    reason: str
    score: float
    calls: int
    accepted: int
