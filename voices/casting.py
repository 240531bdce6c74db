"""Who speaks with which voice. Pure: the same stations, seed and voices give the same cast.

A controller (a station whose name ends in "tower") keeps one steady voice with an accent that no
aircraft has. Every other station draws from the seed and its own name, in the order given, so a
station that joins later changes nobody's voice.
"""

import random
from collections.abc import Iterable, Sequence

from voices.errors import VoiceError
from voices.sound import Voice

TOWER_VOICES = ("joe-us", "en-gb-x-rp", "en-gb-x-rp+m3", "en-gb-x-rp+f2")
"""A natural one if installed; of espeak's those of which a recogniser lost the fewest words by radio."""
AIRCRAFT_ACCENTS = ("en-us", "en-us-nyc", "en-gb-x-gbclan", "en-029")
PARTS = (("f3", 2), ("f1", -2), ("m1", -3), ("f1", 1), ("m3", 3), ("m7", -2), ("m4", 3), ("m7", 2),
         ("m4", -1))  # fmt: skip
"""espeak's timbres with semitones: of 54 such pairs those farthest apart, in pitch and colour, from one
another and from the tower (tests/voices/unlikeness.py: the first seven 3.0 or more, the others 2.6; one voice
is 1.4 from itself from call to call). Without semitones the nearest two of eight timbres are 1.5 apart."""
PACES = (165, 155, 175, 150, 180)
"""Words a minute. The first is the tower's; aircraft draw from all."""
_SHIFTS = (0.0, -3.0, 3.0, -1.5, 1.5, -4.5, 4.5)
"""Semitones that make several people of one voice, where there are too few."""


def is_tower(station: str) -> bool:
    return station.lower().split()[-1:] == ["tower"]


def cast(stations: Sequence[str], seed: int, available: Iterable[str]) -> dict[str, Voice]:
    """A voice for each station; no two are alike.

    `available` are the speaker's voice names. With few of them (some systems have one or two) the
    same name is given again at another pitch, then at another pace. Raises VoiceError if even those do not
    suffice.
    """
    names = sorted(set(available))
    stations = list(dict.fromkeys(stations))
    towers = [name for name in TOWER_VOICES if name in names] or names[:1]
    own = [name for name in names if name not in towers] or names
    taken: dict[str, Voice] = {}
    for station in sorted(stations, key=is_tower, reverse=True):
        rng = random.Random(f"{seed}/{station}")
        if is_tower(station):
            wanted = [Voice(name, PACES[0]) for name in towers]
        else:
            wanted = _aircraft(rng, names) or [Voice(name, rng.choice(PACES)) for name in own]
        spare = [Voice(name, pace, shift) for pace in PACES for shift in _SHIFTS for name in (*own, *towers)]
        taken[station] = _first_free(wanted, spare, set(taken.values()), station)
    return {station: taken[station] for station in stations}


def _aircraft(rng: random.Random, names: Sequence[str]) -> list[Voice]:
    """Every part in an order of its own, each in an accent and at a pace that are drawn too."""
    parts = rng.sample(PARTS, len(PARTS))
    accents = rng.sample(AIRCRAFT_ACCENTS, len(AIRCRAFT_ACCENTS))
    pace = rng.choice(PACES)
    # All parts in one accent, then in the next: who comes late still gets a part that is taken in no accent.
    return [
        Voice(name, pace, semitones)
        for accent in accents
        for timbre, semitones in parts
        if (name := f"{accent}+{timbre}") in names
    ]


def _first_free(wanted: list[Voice], spare: list[Voice], taken: set[Voice], station: str) -> Voice:
    """The first wanted voice whose part nobody has, else of another accent or pitch, else of another pace."""
    parts, names = {_part(voice) for voice in taken}, {_sounds(voice) for voice in taken}
    for voice in wanted:
        if _part(voice) not in parts:
            return voice
    for voice in (*wanted, *spare):
        if _sounds(voice) not in names:
            return voice
    for voice in spare:
        if voice not in taken:
            return voice
    raise VoiceError(f"no voice is left for {station}", "use fewer stations or install more voices")


def _part(voice: Voice) -> tuple[str, float]:
    """Timbre and pitch, whatever the accent."""
    return voice.name.split("+")[-1], voice.semitones


def _sounds(voice: Voice) -> tuple[str, float]:
    return voice.name, voice.semitones
