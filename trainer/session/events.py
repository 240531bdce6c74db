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
    """Another aircraft transmits. `blocked`: somebody else keys with it."""

    aircraft: str
    words: str
    blocked: bool = False


@dataclass(frozen=True)
class TowerSpoke(Event):
    """The tower transmits. `reasons` say why it decided so, `note` is the instructor's word in the drill (the
    last of the reasons too); they are for the debrief. `blocked` as above."""

    to: str
    reply: str
    words: str
    reasons: tuple[str, ...]
    blocked: bool = False
    note: str = ""


@dataclass(frozen=True)
class Blocked(Event):
    """Two stations keyed at once: what `station` said was not understood, or it let go of its key."""

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
    """A call of the trainee, as heard and as judged. `answer_s`: seconds from when it was due, or the tower
    had finished, to the key; None: it was not due."""

    heard: Heard
    assessment: Assessment
    answer_s: float | None = None

    def as_json(self) -> dict[str, Any]:
        return {
            "event": "TraineeSpoke",
            "at": self.at,
            "heard_by": self.heard.by.value,
            "answer_s": self.answer_s,
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


CONSEQUENCES = {
    "check_in": "not known to the tower: hold at the entry point",
    "initial": "no break approval: straight through",
    "gear_report": "the tower asks for the gear",
    "final": "the tower asks for the gear",
    "request_closed": "round the outside",
    "entry_point": "hold at the point",
    "break_report": "the tower does not know that you broke",
    "outside_downwind": "the tower does not know where you are",
}
"""What it leads to that a call is not made."""


@dataclass(frozen=True)
class Happened(Event):
    """Something has befallen the trainee, shown to him: `what` is the drill's name for it."""

    what: str
    words: str
    note: str = ""


@dataclass(frozen=True)
class LightSignal(Event):
    """The tower shows a light to the trainee, who cannot hear it: `signal` and what it means in flight."""

    signal: str
    meaning: str


@dataclass(frozen=True)
class DifficultyChanged(Event):
    """The trainee's last calls have made it harder or easier; `level` 0 to 100."""

    level: float
    why: str


@dataclass(frozen=True)
class SessionEnded(Event):
    """The score is the mean of the calls' scores, 0 to 100; missed calls count as 0.

    `passed` is held against the drill's marks, None where there are none; `verdict` says so in words.
    """

    reason: str
    score: float
    calls: int
    accepted: int
    passed: bool | None = None
    verdict: str = ""
