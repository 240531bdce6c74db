"""One frequency: who speaks when. One station at a time, with the gaps that people leave."""

from collections import deque
from collections.abc import Set
from dataclasses import dataclass

from phraseology.expected import Expected
from phraseology.replies import Message

TOWER = "tower"
PLANNING_S = 0.6
"""What a person needs to plan a reply (Levinson & Torreira 2015)."""
GAP_S = 0.5
ANSWER_FIRST_S = 1.5
"""After a message the air is left so long to the one who must answer (our own choice)."""


@dataclass(frozen=True)
class Transmission:
    """`station` is "tower" or a callsign. The tower's carries message and reasons, a pilot's what he means
    to say and whether his words are the model ones.

    `blocked`: somebody else keys at the same time, and nobody understands either.
    """

    station: str
    words: str
    ready_at: float
    message: Message | None = None
    reasons: tuple[str, ...] = ()
    meant: Expected | None = None
    right: bool = True
    blocked: bool = False
    after: str | None = None
    """The traffic that a condition in the message waits for."""


class Frequency:
    """Transmissions wait here until the air is free. Times are session seconds."""

    def __init__(self) -> None:
        self._waiting: deque[Transmission] = deque()
        self._on_air: Transmission | None = None
        self._free_at = 0.0
        self._reserved: tuple[str, float] = ("", 0.0)
        self.trainee_keyed = False
        self.must_answer: Set[str] = frozenset()
        """The tower waits for read-backs of these: other pilots keep their calls until then."""

    @property
    def busy(self) -> bool:
        return self._on_air is not None or self.trainee_keyed

    @property
    def idle(self) -> bool:
        """Nobody speaks and nothing waits, whoever may."""
        return not self.busy and not self._waiting

    @property
    def speaking(self) -> str | None:
        """The station on the air, the trainee aside."""
        return self._on_air.station if self._on_air else None

    @property
    def quiet(self) -> bool:
        """Nobody speaks, and nobody who may is waiting to."""
        return not self.busy and not any(self._may_speak(waiting) for waiting in self._waiting)

    def _may_speak(self, transmission: Transmission) -> bool:
        station = transmission.station
        return station == TOWER or not self.must_answer or station in self.must_answer

    def waits(self, station: str) -> bool:
        """The station speaks, or waits to."""
        return self.speaking == station or any(t.station == station for t in self._waiting)

    def offer(self, transmission: Transmission) -> None:
        """Wait for the air; the tower goes before pilots."""
        if transmission.station == TOWER:
            place = sum(waiting.station == TOWER for waiting in self._waiting)
            self._waiting.insert(place, transmission)
        else:
            self._waiting.append(transmission)

    def withdraw(self, station: str) -> None:
        """Forget what a station still wanted to say, and what the tower wanted to say to it."""
        self._waiting = deque(
            t for t in self._waiting if t.station != station and not (t.message and t.message.to == station)
        )

    def reserve(self, station: str, now: float) -> None:
        """Leave the next turn to this station for a moment."""
        self._reserved = (station, now + ANSWER_FIRST_S)

    def trainee_released(self, at: float) -> None:
        self.trainee_keyed = False
        self._free_at = max(self._free_at, at)

    def ended(self, now: float) -> Transmission | None:
        """The transmission that has just come to its end, once."""
        if self._on_air is None or now < self._free_at:
            return None
        over, self._on_air = self._on_air, None
        return over

    def next(self, now: float) -> Transmission | None:
        """Take the next transmission on the air, if it is free."""
        if self.busy or not self._waiting or now < self._free_at + GAP_S:
            return None
        station, until = self._reserved
        for transmission in self._waiting:
            if now < until and transmission.station != station:
                continue
            if transmission.ready_at <= now and self._may_speak(transmission):
                self._waiting.remove(transmission)
                self._on_air = transmission
                return transmission
        return None

    def lasts(self, now: float, seconds: float) -> None:
        """What was taken on the air at `now` will take so long."""
        self._free_at = now + seconds
