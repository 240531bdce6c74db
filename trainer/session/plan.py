"""What a session is flown with: from a drill file, or made up from a seed for free flight."""

import random
from dataclasses import dataclass

from drills.drill import Drill, TowerStep, Traffic
from drills.field import Field
from phraseology.elements import Callsign
from phraseology.expected import Context
from phraseology.parse import World
from phraseology.phrases import LETTERS
from phraseology.standards import standard
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES, Profile
from trainer.session.pilots import AS_PEOPLE_ARE, BY_THE_BOOK, Habits
from trainer.traffic.demand import Visitor, demand

FREE_FLIGHT_LIMIT_MINUTES = 60


@dataclass(frozen=True)
class SessionPlan:
    """Everything that is fixed before the first second. `circuits` empty: the trainee decides each time."""

    title: str
    field: Field
    runway: str
    callsign: str
    profile: Profile
    entry_point: str
    check_in_altitude_ft: int
    atis: str
    wind: str
    altimeter: str
    circuits: tuple[str, ...]
    traffic: tuple[Traffic, ...]
    steps: tuple[TowerStep, ...]
    time_limit_s: float
    visitors: tuple[Visitor, ...] = ()
    """Aircraft of a seeded demand, beside the drill's own."""
    habits: Habits = BY_THE_BOOK
    seed: int = 1

    @classmethod
    def of_drill(cls, drill: Drill, field: Field, callsign: str | None = None) -> "SessionPlan":
        """The drill as briefed; `callsign` replaces the drill's own."""
        return cls(
            title=drill.drill,
            field=field,
            runway=drill.runway,
            callsign=callsign or drill.callsign,
            profile=PROFILES[drill.aircraft.replace("_", " ")],
            entry_point=drill.entry_point,
            check_in_altitude_ft=drill.altitude_ft,
            atis=drill.atis,
            wind=drill.wind,
            altimeter=drill.altimeter.replace(".", ""),
            circuits=tuple(drill.circuits),
            traffic=tuple(drill.traffic),
            steps=tuple(drill.tower),
            time_limit_s=drill.time_limit_minutes * 60.0,
        )

    @classmethod
    def free_flight(cls, field: Field, runway: str, callsign: str, seed: int) -> "SessionPlan":
        """Two other aircraft of classes and plans drawn from the seed; the tower decides for itself."""
        rng = random.Random(seed)
        others = [
            name for name in ("HERON 42", "TOPAZ 34", "ADZE 52") if name.split()[0] != callsign.split()[0]
        ]
        goes = ("touch_and_go", "touch_and_go", "low_approach", "touch_and_go")
        traffic = tuple(
            Traffic.model_validate(
                {
                    "callsign": name,
                    "aircraft": rng.choice(("jet_trainer", "turboprop_trainer")),
                    "starts": start,
                    "after_s": 0.0,
                    "circuits": (*rng.choices(goes, k=rng.randrange(3, 7)), "full_stop"),
                }
            )
            for name, start in zip(others, ("inside_downwind", "departure"), strict=False)
        )
        return cls(
            title="Free flight",
            field=field,
            runway=runway,
            callsign=str(Callsign.of(callsign)),
            profile=PROFILES["turboprop trainer"],
            entry_point=rng.choice(sorted(field.points)),
            check_in_altitude_ft=rng.randrange(3, 6) * 1000 + 500,
            atis=rng.choice(LETTERS),
            wind="calm",
            altimeter=str(rng.randrange(2975, 3025)),
            circuits=(),
            traffic=traffic,
            steps=(),
            time_limit_s=FREE_FLIGHT_LIMIT_MINUTES * 60.0,
        )

    @classmethod
    def of_demand(
        cls, field: Field, runway: str, per_hour: float, hours: float, seed: int, wind: str = "calm"
    ) -> "SessionPlan":
        """Traffic of every class alone, without a trainee: for an `Airspace`."""
        rng = random.Random(seed)
        points = tuple(sorted(field.points))
        return cls(
            title="Simulated traffic",
            field=field,
            runway=runway,
            callsign="SABLE 21",
            profile=PROFILES["turboprop trainer"],
            entry_point=points[0],
            check_in_altitude_ft=3500,
            atis=rng.choice(LETTERS),
            wind=wind,
            altimeter=str(rng.randrange(2975, 3025)),
            circuits=(),
            traffic=(),
            steps=(),
            time_limit_s=hours * 3600.0,
            visitors=demand(per_hour, hours, seed, points),
            habits=AS_PEOPLE_ARE,
            seed=seed,
        )

    @property
    def pattern(self) -> PatternPlan:
        return PatternPlan.of(self.field, self.runway, self.wind)

    @property
    def world(self) -> World:
        callsigns = [self.callsign, *(other.callsign for other in self.traffic)]
        callsigns += [visitor.callsign for visitor in self.visitors]
        names = {callsign.split()[0] for callsign in callsigns}
        return World(
            callsign_words=World().callsign_words | names,
            points=frozenset(self.field.points),
            station=self.field.tower.lower(),
            usual_figures=len(self.callsign.split()[1]),
        )

    def context(self, callsign: str) -> Context:
        """The context of a station before anything about its flight is known."""
        return Context(
            standard=standard(self.field.standard),
            world=self.world,
            callsign=callsign,
            runway=self.runway,
            station=self.field.tower.lower(),
            distance_nm=round(self.field.report_initial_nm),
            side=self.field.runway(self.runway).break_side,
        )
