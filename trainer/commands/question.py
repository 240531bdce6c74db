"""What was due when somebody spoke, as options of the command line: shared by the commands that judge.

Data only, so that the command line starts without the language; `judging` makes the yardstick of it.
"""

from dataclasses import dataclass
from typing import Annotated

from cyclopts import Parameter

STANDARDS_HELP = "us_military_tower, us_civil_tower, icao or uk_military."


@dataclass(frozen=True)
class Question:
    """What was to be said: a call by name, or the answer to a controller's words. Units as in `Context`."""

    field: Annotated[str, Parameter(help="A bundled field or a field file.")] = "corbel"
    runway: Annotated[str, Parameter(help="The runway end in use.")] = "31"
    callsign: Annotated[str, Parameter(help="Who speaks.")] = "SABLE 21"
    call: Annotated[str | None, Parameter(help="The call that was due.")] = None
    after: Annotated[str | None, Parameter(help="The controller's words that were to be answered.")] = None
    intention: Annotated[
        str | None, Parameter(help="touch_and_go, full_stop, low_approach, stop_and_go or option.")
    ] = None
    point: Annotated[str | None, Parameter(help="The point to report.")] = None
    altitude_ft: Annotated[
        int | None, Parameter(name="--altitude", help="Feet, to be said in the check-in.")
    ] = None
    distance_nm: Annotated[int | None, Parameter(name="--distance", help="Miles of the initial report.")] = (
        None
    )
    atis: Annotated[str | None, Parameter(help="Letter of the information, as a word.")] = None
    where: Annotated[str | None, Parameter(help='Check-in position: "10 west".')] = None
    position: Annotated[str | None, Parameter(help="Leg of the pattern where the call is made.")] = None
    request: Annotated[str, Parameter(help="What is asked for: overhead or straight_in.")] = "overhead"
    flight: Annotated[str | None, Parameter(help="How many aircraft a formation has.")] = None
    nature: Annotated[str | None, Parameter(help="Nature of the emergency: engine_failure, ...")] = None
    fuel_min: Annotated[int | None, Parameter(name="--fuel", help="Fuel remaining, minutes.")] = None
    souls: Annotated[int | None, Parameter(help="Persons on board.")] = None
    standard: Annotated[str | None, Parameter(help=f"In place of the field's own: {STANDARDS_HELP}")] = None

    @property
    def names_what_was_due(self) -> bool:
        """Without a call and a message there is nothing to judge by."""
        return self.call is not None or self.after is not None
