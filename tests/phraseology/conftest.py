"""The demo field's frequency, as fixtures of the language tests."""

import pytest

from phraseology.expected import Context
from phraseology.parse import World
from phraseology.standards import standard


@pytest.fixture(scope="session")
def world() -> World:
    return World(points=frozenset({"QUARRY", "SILO", "WEIR"}))


@pytest.fixture(scope="session")
def context(world: World) -> Context:
    """SABLE 21 with everything fixed that a call can be held to."""
    return Context(
        standard=standard("us_military_tower"),
        world=world,
        callsign="SABLE 21",
        runway="31",
        station="corbel tower",
        intention="touch_and_go",
        point="QUARRY",
        altitude_ft=2700,
        distance_nm=3,
        atis="alfa",
        where="10 west",
    )
