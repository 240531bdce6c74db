"""Casting: nobody shares a voice, the tower stands apart, and a late joiner changes nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voices.casting import AIRCRAFT_ACCENTS, AIRCRAFT_TIMBRES, TOWER_VOICES, cast
from voices.errors import VoiceError
from voices.sound import Voice

FULL = (*TOWER_VOICES, *(f"{accent}+{timbre}" for accent in AIRCRAFT_ACCENTS for timbre in AIRCRAFT_TIMBRES))
callsigns = st.builds(
    lambda word, number: f"{word} {number:02}",
    st.sampled_from(["SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE"]),
    st.integers(0, 99),
)
aircraft = st.lists(callsigns, unique=True, max_size=len(FULL) - len(TOWER_VOICES))
seeds = st.integers(0, 2**32)


def accent(voice: Voice) -> str:
    return voice.name.split("+")[0]


@given(aircraft, seeds)
def test_no_two_alike_and_the_tower_has_its_own_accent(stations: list[str], seed: int) -> None:
    parts = cast([*stations, "Corbel Tower"], seed, FULL)
    assert list(parts) == [*stations, "Corbel Tower"]
    names = [voice.name for voice in parts.values()]
    assert len(set(names)) == len(names)
    assert set(names) <= set(FULL)
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


def test_more_stations_than_voices_is_refused_with_the_cure() -> None:
    with pytest.raises(VoiceError, match="no voice is left for SABLE 05: use fewer stations"):
        cast([f"SABLE {number:02}" for number in range(10)], 1, ["only"])
    with pytest.raises(VoiceError, match="no voice is left for tower"):
        cast(["tower"], 1, [])


def test_nobody_to_cast() -> None:
    assert cast([], 1, FULL) == {}
