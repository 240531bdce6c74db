"""The number forms of the trade, both ways. Imports `phraseology.numbers` and `phraseology.errors` only.

`say_x` gives a value's words in a `NumberStyle`, `read_x` finds it in words. Words never hold
the label in front ("runway", "QNH", "wind", "heading"): `start` is the place behind it. Reading understands
the forms of every standard: `Number.figures` is the element's value, its form stands in each docstring;
`Number.standard` tells if the words are those of the style given. No digit is ever changed: what is no
value at all (runway 42) is returned as heard, and is not standard.
`say_x` raises PhraseologyError for a value of another form; `read_x` gives None where there is none.

Sources: FAA JO 7110.65 2-4-17 and AIM 4-2-8 to 4-2-12; ICAO Annex 10 vol. II 5.2.1.4; for the United
Kingdom CAP 413 and SERA.14035.
"""

from phraseology.figures.codes import (
    read_callsign_figures,
    read_code,
    read_frequency,
    read_time,
    say_callsign_figures,
    say_code,
    say_frequency,
    say_grouped,
    say_time,
)
from phraseology.figures.counts import (
    read_count,
    read_fuel,
    read_readability,
    say_count,
    say_fuel,
    say_quantity,
    say_readability,
)
from phraseology.figures.flight import (
    read_altimeter,
    read_altitude,
    read_distance,
    read_heading,
    read_qnh,
    read_runway,
    read_speed,
    read_wind,
    say_altimeter,
    say_altitude,
    say_distance,
    say_heading,
    say_qnh,
    say_runway,
    say_speed,
    say_wind,
)
from phraseology.figures.style import NumberStyle

__all__ = [
    "NumberStyle",
    "read_altimeter",
    "read_altitude",
    "read_callsign_figures",
    "read_code",
    "read_count",
    "read_distance",
    "read_frequency",
    "read_fuel",
    "read_heading",
    "read_qnh",
    "read_readability",
    "read_runway",
    "read_speed",
    "read_time",
    "read_wind",
    "say_altimeter",
    "say_altitude",
    "say_callsign_figures",
    "say_code",
    "say_count",
    "say_distance",
    "say_frequency",
    "say_fuel",
    "say_grouped",
    "say_heading",
    "say_qnh",
    "say_quantity",
    "say_readability",
    "say_runway",
    "say_speed",
    "say_time",
    "say_wind",
]
