"""Who speaks with which voice. Pure: the same stations, seed and voices give the same cast.

A controller (a station whose name ends in "tower") keeps one steady voice with an accent that no
aircraft has. Every other station draws from the seed and its own name, in the order given, so a
station that joins later changes nobody's voice.
"""

import random
from collections.abc import Iterable, Sequence

from voices.errors import VoiceError
from voices.sound import Voice

# Of espeak's voices, those of which a recogniser lost the fewest words through the radio effect.
TOWER_VOICES = ("en-gb-x-rp", "en-gb-x-rp+m3", "en-gb-x-rp+f2")
AIRCRAFT_ACCENTS = ("en-us", "en-us-nyc", "en-gb-x-gbclan", "en-029")
AIRCRAFT_TIMBRES = ("m1", "m3", "m4", "m6", "m7", "f1", "f2", "f3")
PACES = (165, 155, 175, 150, 180)
"""Words a minute. The first is the tower's; aircraft draw from all."""


def is_tower(station: str) -> bool:
    return station.lower().split()[-1:] == ["tower"]


def cast(stations: Sequence[str], seed: int, available: Iterable[str]) -> dict[str, Voice]:
    """A voice for each station; no two are alike.

    `available` are the speaker's voice names. With few of them (some systems have one or two) the
    same name is given twice, at different paces. Raises VoiceError if even those do not suffice.
    """
    names = sorted(set(available))
    stations = list(dict.fromkeys(stations))
    towers = [name for name in TOWER_VOICES if name in names] or names[:1]
    aircraft = [
        name
        for name in (f"{accent}+{timbre}" for accent in AIRCRAFT_ACCENTS for timbre in AIRCRAFT_TIMBRES)
        if name in names
    ] or names[1:]
    taken: dict[str, Voice] = {}
    for station in sorted(stations, key=is_tower, reverse=True):
        rng = random.Random(f"{seed}/{station}")
        if is_tower(station):
            wanted = [Voice(name, PACES[0]) for name in towers]
        else:
            wanted = [Voice(name, rng.choice(PACES)) for name in rng.sample(aircraft, len(aircraft))]
        spare = [Voice(name, pace) for pace in PACES for name in (*aircraft, *towers)]
        taken[station] = _first_free(wanted, spare, taken, station)
    return {station: taken[station] for station in stations}


def _first_free(wanted: list[Voice], spare: list[Voice], taken: dict[str, Voice], station: str) -> Voice:
    """The first wanted voice whose name nobody has, else the first spare one that nobody has."""
    names = {voice.name for voice in taken.values()}
    for voice in wanted:
        if voice.name not in names:
            return voice
    for voice in spare:
        if voice not in taken.values():
            return voice
    raise VoiceError(f"no voice is left for {station}", "use fewer stations or install more voices")
