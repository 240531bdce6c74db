"""Casting: nobody shares a voice, the tower stands apart, and a late joiner changes nothing."""

import sys
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.voices.unlikeness import Traits, traits, unlikeness
from voices.casting import AIRCRAFT_ACCENTS, PARTS, TOWER_VOICES, cast
from voices.errors import VoiceError
from voices.sound import Voice
from voices.speaker import WorkerSpeaker

ESPEAK_TOWERS = TOWER_VOICES[1:]
FULL = (*ESPEAK_TOWERS, *(f"{accent}+{timbre}" for accent in AIRCRAFT_ACCENTS for timbre in dict(PARTS)))
callsigns = st.builds(
    lambda word, number: f"{word} {number:02}",
    st.sampled_from(["SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE"]),
    st.integers(0, 99),
)
aircraft = st.lists(callsigns, unique=True, max_size=len(AIRCRAFT_ACCENTS) * len(PARTS))
seeds = st.integers(0, 2**32)


def accent(voice: Voice) -> str:
    return voice.name.split("+")[0]


@given(aircraft, seeds)
def test_no_two_alike_and_the_tower_has_its_own_accent(stations: list[str], seed: int) -> None:
    parts = cast([*stations, "Corbel Tower"], seed, FULL)
    assert list(parts) == [*stations, "Corbel Tower"]
    heard = [(voice.name, voice.semitones) for voice in parts.values()]
    assert len(set(heard)) == len(heard)
    assert {name for name, _ in heard} <= set(FULL)
    few = stations[: len(PARTS)]
    assert len({(parts[name].name.split("+")[1], parts[name].semitones) for name in few}) == len(few)
    assert accent(parts["Corbel Tower"]) not in {accent(parts[station]) for station in stations}


@given(aircraft, seeds, callsigns)
def test_who_joins_later_changes_nobodys_voice(stations: list[str], seed: int, late: str) -> None:
    before = cast(["tower", *stations], seed, FULL)
    after = cast(["tower", *stations, late], seed, FULL)
    assert {station: after[station] for station in before} == before


@given(aircraft, seeds)
def test_the_cast_depends_on_nothing_but_its_input(stations: list[str], seed: int) -> None:
    assert cast(stations, seed, FULL) == cast(stations, seed, reversed(FULL))


def test_the_seed_changes_the_aircraft_but_not_the_tower() -> None:
    casts = [cast(["tower", "SABLE 21", "HERON 55"], seed, FULL) for seed in range(20)]
    assert len({parts["tower"] for parts in casts}) == 1
    assert len({parts["SABLE 21"] for parts in casts}) > 5


def test_two_towers_differ() -> None:
    parts = cast(["Corbel Tower", "Wickstone Tower"], 1, FULL)
    assert parts["Corbel Tower"] != parts["Wickstone Tower"]


@given(
    st.lists(callsigns, unique=True, max_size=4), seeds, st.lists(st.text(min_size=1), min_size=1, max_size=3)
)
def test_a_system_with_few_voices_still_gives_unlike_ones(
    stations: list[str], seed: int, few: list[str]
) -> None:
    parts = cast(["tower", *stations], seed, few)
    assert len(set(parts.values())) == len(parts)
    assert {voice.name for voice in parts.values()} <= set(few)
    assert len({(voice.name, voice.semitones) for voice in parts.values()}) == len(parts)


def test_more_stations_than_voices_is_refused_with_the_cure() -> None:
    with pytest.raises(VoiceError, match="no voice is left for SABLE 35: use fewer stations"):
        cast([f"SABLE {number:02}" for number in range(40)], 1, ["only"])
    with pytest.raises(VoiceError, match="no voice is left for tower"):
        cast(["tower"], 1, [])


def test_nobody_to_cast() -> None:
    assert cast([], 1, FULL) == {}


def test_a_natural_voice_where_there_is_one_is_the_towers() -> None:
    parts = cast(["tower", "SABLE 21", "HERON 55"], 1, [*FULL, "joe-us"])
    assert parts["tower"].name == "joe-us"
    assert "joe-us" not in {parts["SABLE 21"].name, parts["HERON 55"].name}


CALLS = (
    "sable two one, runway three one, cleared touch and go",
    "heron four five, unable closed, report quarry",
)


@pytest.mark.skipif(sys.platform != "linux", reason="the parts are espeak's")
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_two_sound_alike(seed: int) -> None:
    """The tower and seven aircraft, heard: any two differ more than one voice from call to call, a median of 1.4."""
    stations = ["tower", *(f"SABLE {number}" for number in range(21, 28))]
    with WorkerSpeaker() as speaker:
        parts = cast(stations, seed, speaker.voices())
        heard: dict[str, list[Traits]] = {
            station: [traits(speaker.speak(call, voice)) for call in CALLS]
            for station, voice in parts.items()
        }
    apart = {
        (one, other): sum(map(unlikeness, heard[one], heard[other])) / len(CALLS)
        for one, other in combinations(stations, 2)
    }
    assert min(apart.values()) > 2.5, (min(apart, key=apart.__getitem__), parts)
