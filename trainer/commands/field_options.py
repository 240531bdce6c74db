"""What a new field is made of, as options of the command line: data only, so that it starts at once."""

from dataclasses import dataclass
from typing import Annotated

from cyclopts import Parameter

from trainer.commands.question import STANDARDS_HELP


@dataclass(frozen=True)
class FieldOptions:
    """What can be said beforehand; None: it is asked for, or follows from the rest."""

    airport: Annotated[
        str | None,
        Parameter(help="ICAO code: name, elevation and position from public data; the runway is asked for."),
    ] = None
    variation: Annotated[
        str | None,
        Parameter(help="Magnetic variation there, degrees, east positive; without it by the magnetic model."),
    ] = None
    name: Annotated[str | None, Parameter(help="Name of the field.")] = None
    runway: Annotated[str | None, Parameter(help='The runway end in use: "31".')] = None
    heading: Annotated[str | None, Parameter(help="Magnetic heading of that end, degrees.")] = None
    length: Annotated[str | None, Parameter(help="Length of the runway, feet.")] = None
    side: Annotated[str | None, Parameter(help="Where aircraft break on that end: left or right.")] = None
    elevation: Annotated[str | None, Parameter(help="Field elevation, feet above sea level.")] = None
    pattern_altitude: Annotated[str | None, Parameter(help="Overhead pattern, feet above sea level.")] = None
    conventional_altitude: Annotated[
        str | None, Parameter(help="Conventional pattern, feet; without it 500 below the overhead.")
    ] = None
    breakout_altitude: Annotated[
        str | None, Parameter(help="Climbed to on a breakout, feet; without it 1,000 above the overhead.")
    ] = None
    point: Annotated[
        tuple[str, ...],
        Parameter(
            help='Entry point: name, magnetic bearing, miles: "QUARRY 270 8"; with --airport by position too:'
            ' "QUARRY 51.70N 1.25W". As often as there are.'
        ),
    ] = ()
    tower: Annotated[str | None, Parameter(help="As it is addressed; without it, NAME Tower.")] = None
    standard: Annotated[str, Parameter(help=STANDARDS_HELP)] = "us_military_tower"
    one_way: Annotated[bool, Parameter(negative=(), help="Leave out the runway's other end.")] = False
    outside_offset: Annotated[str, Parameter(help="Outside downwind from the runway line, miles.")] = "2.5"
    initial: Annotated[str, Parameter(help="Where initial begins, miles from the threshold.")] = "5"
    report_initial: Annotated[str, Parameter(help="Where it is reported, miles from the threshold.")] = "3"
    limit: Annotated[str, Parameter(help="The most aircraft in the overhead pattern.")] = "4"
    separation: Annotated[str, Parameter(help="The least between aircraft that obey, miles.")] = "0.5"
