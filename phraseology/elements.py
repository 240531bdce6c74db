"""The typed pieces that calls and messages are made of."""

import re
from dataclasses import dataclass, field
from enum import StrEnum

from phraseology.errors import PhraseologyError
from phraseology.numbers import say_digits


class Kind(StrEnum):
    """What an element tells. The comment gives the form of its value."""

    STATION = "station"  # whom one calls: "corbel tower", "tower", "corbel traffic"
    CALLSIGN = "callsign"  # "SABLE 21"; "SABLE", "21" if incomplete
    FLIGHT = "flight"  # of a formation: how many, "2", or "flight" where the number is not said
    WHERE = "where"  # "8 west": miles and direction from the field
    POSITION = "position"  # a leg or place of the pattern: "initial", "outside_downwind"
    DISTANCE = "distance"  # miles of an initial or a final: "3"
    POINT = "point"  # a named entry point: "QUARRY"
    ALTITUDE = "altitude"  # feet: "2700"
    ATIS = "atis"  # letter word "alfa", or "numbers"
    REQUEST = "request"  # "overhead", "straight_in"
    OVERHEAD = "overhead"  # "approved", "denied"
    INTENTION = "intention"  # "touch_and_go", "full_stop", "low_approach", "stop_and_go", "option"
    CLEARANCE = "clearance"  # an intention that the tower clears
    GEAR = "gear"  # "down", "in_transit", "up", "unsafe"
    RUNWAY = "runway"  # "31", "8 left": see `runway_name`
    WIND = "wind"  # "calm", "310/8", "310/8/15" with gusts, "variable/5"
    ALTIMETER = "altimeter"  # inches of mercury times 100: "2992"
    QNH = "qnh"  # hectopascals: "1013"
    HEADING = "heading"  # degrees, three figures: "310"
    SPEED = "speed"  # knots: "200"
    FREQUENCY = "frequency"  # megahertz: "118.1"
    TIME = "time"  # UTC "0710", or the minutes alone "10"
    SIDE = "side"  # "left", "right": of a break, of closed, of a turn
    CLOSED = "closed"  # "requested", "approved", "denied", "bare"
    BREAK = "break"  # "approved", "midfield", "departure_end", "in 5" (seconds), "my_call", "now"
    CONDITION = (
        "condition"  # when an approval holds: "after traffic initial", "after HERON 42", "at departure_end"
    )
    ACTION = "action"  # "going_around", "breaking_out", ...
    HOLD = "hold"  # the point to hold at: "QUARRY"
    UNAVAILABLE = "unavailable"  # the point that can not be used: "QUARRY"
    REPORT = "report"  # what is to be reported: "QUARRY", "initial", "initial 3", "break", "outside_downwind"
    SEQUENCE = "sequence"  # place in the landing order: "2"
    FOLLOW = "follow"  # whom, and where that one is: "HERON 42", "jet_trainer inside_downwind"
    TRAFFIC_INFORMATION = "traffic information"  # what is where: "jet_trainer initial 3", "HERON 42 final"
    TRAFFIC = "traffic"  # "in_sight", "not_in_sight"
    NOTICE = "notice"  # what concerns everybody: "runway_change", "birds", "full_stops_only", ...
    EMERGENCY = "emergency"  # how it is declared: "mayday", "pan_pan", "declared"
    NATURE = "nature"  # of the emergency: "engine_failure", ...
    FUEL = "fuel"  # "minimum", or minutes: "20"
    SOULS = "souls"  # persons on board: "2"
    RADIO = "radio"  # "check"
    READABILITY = "readability"  # 1 to 5: "5"
    FIELD = "field"  # name of the field at the end of a self-announced call: "corbel"
    ACK = "acknowledgement"  # "roger", "wilco", "affirmative", "negative", "unable", "stand_by", "go_ahead"
    QUERY = "query"  # "say_again", "say_callsign", "confirm_gear", ...
    PART = "part"  # of a message, to be said again: "all_after runway", "all_before wind", "wind"
    BREVITY = "brevity"  # words that the call does not need
    HESITATION = "hesitation"


class Severity(StrEnum):
    """How bad; domain practice: critical could kill, major leaves the controller without what he needs."""

    CRITICAL = "critical"
    MAJOR = "major"
    MINOR = "minor"
    NONE = "none"


@dataclass(frozen=True)
class Element:
    """One piece of what was said.

    `start` and `end` are word indices; `confidence` is that of its worst word.
    """

    kind: Kind
    value: str
    start: int
    end: int
    standard: bool = True
    negated: bool = False
    confidence: float = field(default=1.0, compare=False)
    figures_confidence: float = field(default=1.0, compare=False)
    """Of a callsign: that of the worst word after its name."""


@dataclass(frozen=True)
class Callsign:
    """A military tactical callsign: a word of 3 to 6 letters and 1 to 4 figures, never abbreviated.

    Source: FAA JO 7110.65 2-4-9; 2-4-20 from memory. The same paragraph allows 7 characters in all;
    a practice callsign may be longer, so that is a property (`within_limit`), not a condition.
    """

    word: str
    figures: str

    def __post_init__(self) -> None:
        if not re.fullmatch(r"[A-Z]{3,6}", self.word) or not re.fullmatch(r"\d{1,4}", self.figures):
            raise PhraseologyError(
                f"{self.word} {self.figures!s} is no callsign: write a word of 3 to 6 letters and"
                ' 1 to 4 figures, for instance "SABLE 21"'
            )

    @classmethod
    def of(cls, text: str) -> "Callsign":
        """From "SABLE 21" or "sable21"; raises PhraseologyError for anything else."""
        match = re.fullmatch(r"\s*([A-Za-z]+)[\s-]*(\d+)\s*", text)
        if not match:
            raise PhraseologyError(
                f'"{text}" is no callsign: write a word of 3 to 6 letters and 1 to 4 figures,'
                ' for instance "SABLE 21"'
            )
        return cls(match[1].upper(), match[2])

    def __str__(self) -> str:
        return f"{self.word} {self.figures}"

    @property
    def within_limit(self) -> bool:
        """7 letters and figures at most (JO 7110.65 2-4-9)."""
        return len(self.word) + len(self.figures) <= 7

    @property
    def spoken(self) -> str:
        """Digit by digit, never grouped (JO 7110.65 2-4-9)."""
        return f"{self.word.lower()} {say_digits(self.figures)}"


_SIDES = {"L": "left", "R": "right", "C": "center"}


def runway_name(end: str) -> str:
    """The one spelling of a runway in elements: "31", "8 left"; from "31", "08L" or "08 left".

    Without the leading zero, as the FAA standard says it (JO 7110.65 2-4-17). Raises PhraseologyError.
    """
    match = re.fullmatch(r"\s*0?([1-9][0-9]?)\s*(L|R|C|left|right|center)?\s*", end)
    if not match or int(match[1]) > 36:
        raise PhraseologyError(
            f'"{end}" is no runway: write 1 to 36 and a side if it has one, for instance "31" or "08L"'
        )
    side = match[2] or ""
    return f"{match[1]} {_SIDES.get(side, side)}".strip()
