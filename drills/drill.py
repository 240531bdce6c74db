"""A drill file: one flight as an instructor briefs it.

What is left out of weather, letter, entry point, altitude and call sign the session's seed draws.
"""

from pydantic import Field as Key

from drills.field import PointName, RunwayEnd
from drills.shape import Text, Written
from drills.steps import Happening, Required, TowerStep, Traffic
from drills.values import (
    MOST_DEMAND,
    Aircraft,
    Altimeter,
    Altitude,
    Approaches,
    Callsigns,
    Hints,
    Letter,
    Minutes,
    Pace,
    StandardName,
    Wind,
)

__all__ = ["Drill", "Pace"]


class Drill(Written):
    """One flight: who, where, with what traffic, and what the tower is made to answer."""

    drill: Text = Key(description="Title.")
    goal: Text = Key(description="What the trainee should be able to do afterwards.")
    expected_minutes: Minutes = Key(description="How long it usually takes, minutes.")
    field: str = Key(description='A bundled field ("corbel"), or a field file relative to this one.')
    standard: StandardName | None = Key(
        default=None, description="Whose wording is spoken; left out: the field's."
    )
    runway: RunwayEnd = Key(description='The runway end in use, in quotes: "31".')
    callsigns: Callsigns = Key(
        alias="callsign", description="The trainee's call sign; of a list the seed draws one."
    )
    aircraft: Aircraft = Key(description="The class of the trainee's aircraft.")
    formation: int | None = Key(
        default=None, ge=2, le=4, description="How many aircraft he leads; left out: he is alone."
    )
    entry_point: PointName | None = Key(
        default=None, description="The entry point by which the trainee arrives; left out: drawn."
    )
    altitude_ft: Altitude | None = Key(
        default=None, description="Altitude at check-in, feet above sea level; left out: drawn."
    )
    atis: Letter | None = Key(
        default=None, description="The letter word of the current ATIS information; left out: drawn."
    )
    altimeter: Altimeter | None = Key(
        default=None,
        description='Altimeter setting, inches of mercury "29.92" or QNH "1013", in quotes; left out: drawn.',
    )
    wind: Wind | None = Key(
        default=None,
        description='Surface wind, magnetic, as in "310/8"; gusts are said only; left out: drawn.',
    )
    visibility_sm: float = Key(
        default=10.0, gt=0, le=50, description="Visibility, statute miles; it is told, and hides nothing."
    )
    pace: Pace = Key(default="real", description="How time runs between the calls.")
    hints: Hints = Key(
        default="nothing", description="What is shown of the next call: nothing, its words, or what is in it."
    )
    time_limit_minutes: Minutes = Key(description="The session ends after this long, minutes.")
    pass_mark: int = Key(default=80, ge=0, le=100, description="The score with which it is passed, of 100.")
    tolerated_minors: int = Key(
        default=5, ge=0, le=200, description="So many minor faults may be made; a critical one never."
    )
    souls: int = Key(default=2, ge=1, le=9, description="Persons on board, for an emergency.")
    fuel_min: int = Key(default=30, ge=1, le=240, description="Fuel on board, minutes, for an emergency.")
    circuits: Approaches = Key(
        description="What the trainee is to do on each approach, in order; the last ends the drill."
    )
    traffic: tuple[Traffic, ...] = Key(default=(), max_length=12, description="The other aircraft.")
    demand: float = Key(
        default=0.0,
        ge=0,
        le=MOST_DEMAND,
        description="How many more aircraft come an hour, drawn by chance: from 0 to 20.",
    )
    tower: tuple[TowerStep, ...] = Key(default=(), max_length=60, description="Answers forced on the tower.")
    events: tuple[Happening, ...] = Key(
        default=(), max_length=30, description="What happens besides: weather, warnings, an emergency."
    )
    required: tuple[Required, ...] = Key(
        default=(), max_length=30, description="Calls that the drill demands beyond the usual ones."
    )

    @property
    def callsign(self) -> str:
        """The trainee's call sign, the first of a list."""
        return self.callsigns[0]
