"""One frequency: who speaks when. One station at a time, with the gaps that people leave.

The tower goes before pilots, waits for a read-back before it turns to the next aircraft, and answers the
trainee as soon as a person would. Pilots hold their calls while a read-back is owed or an answer is about to
come. Whoever keys over another blocks both; who began in the same moment as the trainee lets go of his key.
"""

from collections import deque
from collections.abc import Callable, Set
from dataclasses import dataclass, replace

from phraseology.expected import Expected
from phraseology.replies import Message

TOWER = "tower"
PLANNING_S = 0.6
"""What a person needs to plan a reply (Levinson & Torreira 2015)."""
ANSWER_GAP_S = 0.2
"""Between what is said and its answer, by one who planned it while he listened (the same)."""
GAP_S = 0.5
"""Before somebody else begins (our own choice)."""
TRAINEES_TURN_S = 4.0
"""After a transmission other pilots leave the air so long to a trainee whose call is due, so that none is
missed for want of a gap (our own choice)."""
BLOCKED = "blocked"
"""What one who heard two at once says (common practice)."""
ANSWER_FIRST_S = 1.5
"""After a message the air is left so long to the one who must answer (our own choice)."""


@dataclass(frozen=True)
class Transmission:
    """`station` is "tower" or a callsign. The tower's carries message and reasons, a pilot's what he means
    to say and whether his words are the model ones.

    `blocked_by`: who keys at the same time, "" for nobody knows whom: nobody understands either.
    `at_once`: it waits for no read-back and for nobody's turn, for it keeps aircraft apart, or says that two
    were blocked.
    """

    station: str
    words: str
    ready_at: float
    message: Message | None = None
    reasons: tuple[str, ...] = ()
    meant: Expected | None = None
    right: bool = True
    blocked_by: str | None = None
    at_once: bool = False
    after: str | None = None
    """The traffic that a condition in the message waits for."""
    note: str = ""
    """The instructor's, for the debrief."""
    gave_way: bool = False
    """It was begun before, in the same moment as the trainee's."""


class Frequency:
    """Transmissions wait here until the air is free. Times are session seconds."""

    def __init__(self) -> None:
        self._waiting: deque[Transmission] = deque()
        self._on_air: Transmission | None = None
        self._free_at = 0.0
        self._reserved: tuple[str, float] = ("", 0.0)
        self.trainee_keyed = False
        self._trainee_ended: float | None = None
        self._trainees_turn = False
        self.must_answer: Set[str] = frozenset()
        """The tower waits for read-backs of these: other pilots keep their calls until then."""
        self.first_answer_due: Set[str] = frozenset()
        """Those of them who have not been asked twice: the tower speaks to nobody else until then."""

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
        if transmission.at_once:
            return True
        if transmission.station == TOWER:
            to = transmission.message.to if transmission.message else ""
            return not to or not self.first_answer_due or to in self.first_answer_due
        if self._trainees_turn and transmission.station not in self.must_answer:
            return False
        return not self.must_answer or transmission.station in self.must_answer

    def trainee_is_due(self, now: float, *, due: bool) -> None:
        """A call of the trainee is due, or none is: the next turn is his, for a moment."""
        self._trainees_turn = due and not self.trainee_keyed and now < self._free_at + TRAINEES_TURN_S

    def waits(self, station: str) -> bool:
        """The station speaks, or waits to."""
        return self.speaking == station or any(t.station == station for t in self._waiting)

    def offer(self, transmission: Transmission) -> None:
        """Wait for the air; the tower goes before pilots, and what is to be said at once before all."""
        if transmission.at_once:
            self._waiting.appendleft(transmission)
        elif transmission.station == TOWER:
            place = sum(waiting.station == TOWER or waiting.at_once for waiting in self._waiting)
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

    def trainee_keys(self, callsign: str) -> str | None:
        """The trainee begins to speak. The station that he blocks by it, if one is on the air."""
        self.trainee_keyed = True
        if self._on_air is None:
            return None
        self._on_air = replace(self._on_air, blocked_by=callsign)
        return self._on_air.station

    def heard_out(self, now: float) -> None:
        """Who is on the air has been heard to the end, whatever his words were reckoned to take."""
        self._free_at = min(self._free_at, now)

    def give_way(self, now: float) -> Transmission | None:
        """Who is on the air began in the same moment as the trainee, and lets go of his key.

        Returns what he was about to say. None: nobody is, or he has let the trainee go before with it."""
        if self._on_air is None or self._on_air.gave_way:
            return None
        over, self._on_air = self._on_air, None
        self._free_at = now
        return over

    def trainee_released(self, at: float, *, spoken: bool) -> None:
        """His voice ended at second `at`; a line that was not `spoken` came all at once."""
        self.trainee_keyed = False
        self._trainee_ended = at if spoken else None
        self._free_at = max(self._free_at, at)

    def tower_ready(self, now: float) -> float:
        """When the tower, which decides now, has its words together."""
        if self._trainee_ended is None:
            return now + PLANNING_S
        return self._trainee_ended + ANSWER_GAP_S

    def waiting_words(self) -> list[tuple[str, str]]:
        """Station and words of all that is still to be said."""
        return [(transmission.station, transmission.words) for transmission in self._waiting]

    def ended(self, now: float) -> Transmission | None:
        """The transmission that has just come to its end, once."""
        if self._on_air is None or now < self._free_at:
            return None
        over, self._on_air = self._on_air, None
        return over

    def next(self, now: float, is_blocked: Callable[[Transmission], bool]) -> Transmission | None:
        """Take the next transmission on the air, if it is free; `is_blocked` draws whether two key."""
        if self.busy or not self._waiting or now < self._free_at + ANSWER_GAP_S:
            return None
        station, until = self._reserved
        for transmission in self._waiting:
            if not self._may_speak(transmission):
                continue
            has_turn = transmission.at_once or transmission.station == station
            if now < until and not has_turn:
                continue
            answers = has_turn or transmission.station == TOWER
            if transmission.ready_at <= now and (answers or now >= self._free_at + GAP_S):
                self._waiting.remove(transmission)
                if is_blocked(transmission):
                    transmission = replace(transmission, blocked_by="")
                self._on_air, self._trainee_ended = transmission, None
                return transmission
            if transmission.station == TOWER and not transmission.at_once:
                return None  # it is about to speak
        return None

    def lasts(self, now: float, seconds: float) -> None:
        """What was taken on the air at `now` will take so long."""
        self._free_at = now + seconds
