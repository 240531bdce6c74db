"""What the tower tells of itself and asks nothing for: traffic, a wind check, full stops only.

Each once; all of it waits until there is nothing more urgent to say.
"""

import re
from itertools import combinations

from phraseology.elements import Kind
from phraseology.replies import ALL, Message, message
from trainer.pattern.leg import Leg
from trainer.tower.picture import Picture
from trainer.tower.words import PLACE_OF

TRAFFIC_NM = 1.0
TRAFFIC_S = 45.0
"""Traffic is named that will come so near within this time (our own choice)."""
STRONG_WIND_KT = 18
"""From here on, or with gusts, the wind is told once more on final (our own choice)."""
NOT_SHORTER_S = 20.0
"""Nobody is spoken to who is nearer to the threshold (our own choice)."""
CROWD = 2
"""So many who wait for room, with a full pattern, make it full stops only (our own choice)."""

_PLACES = {
    **PLACE_OF,
    Leg.CROSSWIND: "crosswind",
    Leg.OUTSIDE_DOWNWIND: "outside_downwind",
    Leg.NINETY_TO_INITIAL: "ninety_to_initial",
    Leg.FORTY_FIVE_TO_INITIAL: "forty_five_to_initial",
}
_LISTENS = frozenset(_PLACES) - {Leg.FINAL, Leg.FINAL_TURN, Leg.BREAK_TURN}


class Information:
    """Remembers what has been said."""

    def __init__(self) -> None:
        self._said: set[tuple[str, ...]] = set()

    def next(self, picture: Picture, waiting: int) -> tuple[Message, str] | None:
        """The next message and its reason; `waiting` is how many hold or stand by for room."""
        for found in (self._full_stops(picture, waiting), self._traffic(picture), self._wind(picture)):
            if found is not None:
                return found
        return None

    def _full_stops(self, picture: Picture, waiting: int) -> tuple[Message, str] | None:
        if waiting < CROWD or len(picture.in_the_pattern) < picture.field.limit or not self._new("full"):
            return None
        reason = f"{waiting} wait for room and the pattern is full"
        return message("full_stops_only", ALL, {}), reason

    def _traffic(self, picture: Picture) -> tuple[Message, str] | None:
        named = [name for name, flight in picture.flights.items() if flight.leg in _PLACES]
        for one, other in combinations(sorted(named), 2):
            close = picture.outlooks.meeting(one, other, (picture.outlook(one), picture.outlook(other)))
            if close is None or close.nm >= TRAFFIC_NM or not 0.0 <= close.at - picture.now < TRAFFIC_S:
                continue
            for to, whom in ((one, other), (other, one)):
                if picture.flights[to].leg in _LISTENS and self._new("traffic", one, other):
                    lead = picture.flights[whom]
                    kind = lead.profile.name.replace(" ", "_")
                    fields = {Kind.TRAFFIC_INFORMATION: f"{kind} {_PLACES[lead.leg]}"}
                    reason = f"{whom} passes within {close.nm:.1f} NM in {close.at - picture.now:.0f} s"
                    return message("traffic", to, fields), reason
        return None

    def _wind(self, picture: Picture) -> tuple[Message, str] | None:
        figures = [int(each) for each in re.findall(r"/(\d+)", picture.wind)]
        if not figures or (figures[0] < STRONG_WIND_KT and len(figures) < 2):
            return None
        for name, flight in picture.flights.items():
            if flight.leg is not Leg.FINAL or flight.path.ends_at - picture.now < NOT_SHORTER_S:
                continue
            if self._new("wind", name):
                return message("wind_check", name, {Kind.WIND: picture.wind}), "a strong wind, on final"
        return None

    def _new(self, *what: str) -> bool:
        is_new = what not in self._said
        self._said.add(what)
        return is_new
