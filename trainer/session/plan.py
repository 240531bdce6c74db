"""What a session is flown with: from a drill file, or made up from a seed for free flight."""

import random
from dataclasses import dataclass, replace

from drills.drill import Drill
from drills.field import Field
from drills.steps import Happening, Required, TowerStep, Traffic
from drills.values import Hints
from phraseology.elements import Callsign
from phraseology.expected import Context
from phraseology.parse import World
from phraseology.phrases import LETTERS
from phraseology.standards import standard
from trainer.pattern.plan import PatternPlan, steady_wind
from trainer.pattern.profiles import PROFILES, Profile
from trainer.session.difficulty import EASIEST, HARDEST, USUAL
from trainer.session.drawn import Drawn
from trainer.session.grading import Marks
from trainer.session.notices import Notice, of_the_day, shut_today
from trainer.session.pilots import AS_PEOPLE_ARE, BY_THE_BOOK, Habits
from trainer.traffic.demand import Visitor, demand

FREE_FLIGHT_LIMIT_MINUTES = 60
_COME_AT_ANY_LEVEL = 2


def _at_any_level(seed: int, points: tuple[str, ...], own: str) -> tuple[Visitor, ...]:
    """The busiest demand of a free flight, each with the level from which on it comes: at any level the
    rest are again independent arrivals, at that level's rate. The first come at any: nobody flies alone."""
    hours = FREE_FLIGHT_LIMIT_MINUTES / 60.0
    marks = random.Random(f"{seed} levels")
    least = EASIEST.per_hour / HARDEST.per_hour
    found = demand(HARDEST.per_hour, hours, seed, points, (own,))
    levels = [max(0.0, 100.0 * (marks.random() - least) / (1.0 - least)) for _ in found[_COME_AT_ANY_LEVEL:]]
    later = (
        replace(visitor, level=level)
        for visitor, level in zip(found[_COME_AT_ANY_LEVEL:], levels, strict=True)
    )
    return (*found[:_COME_AT_ANY_LEVEL], *later)


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
    notices: tuple[Notice, ...] = ()
    """What the tower announces, and when."""
    unavailable: frozenset[str] = frozenset()
    """Entry points that are not to be had today."""
    difficulty: float | None = None
    """Where free flight begins, 0 to 100; None: nothing adapts."""
    events: tuple[Happening, ...] = ()
    """What a drill has happen."""
    required: tuple[Required, ...] = ()
    """Calls that a drill demands."""
    marks: Marks | None = None
    """With what a drill is passed; None: nothing is asked."""
    hints: Hints = "nothing"
    """What is shown of the next call at first: nothing, words, cue."""
    visibility_sm: float = 10.0
    flight: str | None = None
    """How many the trainee leads; None: he is alone."""
    souls: int | None = None
    fuel_min: int | None = None

    @classmethod
    def of_drill(
        cls, drill: Drill, field: Field, callsign: str | None = None, seed: int = 1
    ) -> "SessionPlan":
        """The drill as briefed; `callsign` replaces the drill's own, `seed` draws its demand and what it
        leaves free."""
        drawn = Drawn.of(drill, field, seed)
        own = callsign or drawn.callsign
        taken = (own, *drill.callsigns, *(other.callsign for other in drill.traffic))
        hours = drill.time_limit_minutes / 60.0
        if drill.standard is not None:
            field = field.model_copy(update={"standard": drill.standard})
        return cls(
            title=drill.drill,
            field=field,
            runway=drill.runway,
            callsign=own,
            profile=PROFILES[drill.aircraft.replace("_", " ")],
            entry_point=drawn.entry_point,
            check_in_altitude_ft=drawn.altitude_ft,
            atis=drawn.atis,
            wind=drawn.wind,
            altimeter=drawn.altimeter,
            circuits=tuple(drill.circuits),
            traffic=tuple(drill.traffic),
            steps=tuple(drill.tower),
            time_limit_s=drill.time_limit_minutes * 60.0,
            visitors=demand(drill.demand, hours, seed, tuple(sorted(field.points)), taken),
            habits=replace(AS_PEOPLE_ARE, traps=0.0) if drill.demand else BY_THE_BOOK,
            seed=seed,
            events=tuple(drill.events),
            required=tuple(drill.required),
            marks=Marks(drill.pass_mark, drill.tolerated_minors),
            hints=drill.hints,
            visibility_sm=drill.visibility_sm,
            flight=str(drill.formation) if drill.formation else None,
            souls=drill.souls,
            fuel_min=drill.fuel_min,
        )

    @classmethod
    def free_flight(
        cls, field: Field, runway: str, callsign: str, seed: int, difficulty: float = USUAL
    ) -> "SessionPlan":
        """Others come as the difficulty, 0 to 100, has it, and the tower decides for itself."""
        rng = random.Random(seed)
        points = tuple(sorted(field.points))
        return cls(
            title="Free flight",
            field=field,
            runway=runway,
            callsign=str(Callsign.of(callsign)),
            profile=PROFILES["turboprop trainer"],
            entry_point=rng.choice(points),
            check_in_altitude_ft=rng.randrange(3, 6) * 1000 + 500,
            atis=rng.choice(LETTERS),
            wind="calm",
            altimeter=str(rng.randrange(2975, 3025)),
            circuits=(),
            traffic=(),
            steps=(),
            time_limit_s=FREE_FLIGHT_LIMIT_MINUTES * 60.0,
            visitors=_at_any_level(seed, points, str(Callsign.of(callsign))),
            habits=AS_PEOPLE_ARE,
            seed=seed,
            difficulty=difficulty,
        )

    @classmethod
    def of_demand(
        cls, field: Field, runway: str, per_hour: float, hours: float, seed: int, wind: str = "calm"
    ) -> "SessionPlan":
        """Traffic of every class alone, without a trainee: for an `Airspace`."""
        rng = random.Random(seed)
        points = tuple(sorted(field.points))
        altimeter = str(rng.randrange(2975, 3025))
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
            altimeter=altimeter,
            circuits=(),
            traffic=(),
            steps=(),
            time_limit_s=hours * 3600.0,
            visitors=demand(per_hour, hours, seed, points),
            habits=AS_PEOPLE_ARE,
            seed=seed,
            notices=of_the_day(seed, hours, steady_wind(wind)[1], altimeter),
            unavailable=shut_today(seed, points),
        )

    @property
    def pattern(self) -> PatternPlan:
        return PatternPlan.of(self.field, self.runway, self.wind)

    @property
    def stations(self) -> list[str]:
        """The callsigns that are to be heard, the trainee's first, the others about as they come."""
        others = [other.callsign for other in self.traffic]
        others += [step.to for step in self.steps if step.to is not None]
        return [self.callsign, *others, *(visitor.callsign for visitor in self.visitors)]

    @property
    def world(self) -> World:
        names = {callsign.split()[0] for callsign in self.stations}
        return World(
            callsign_words=World().callsign_words | names,
            points=frozenset(self.field.points),
            station=self.field.tower.lower(),
            usual_figures=len(self.callsign.split()[1]),
        )

    def context(self, callsign: str) -> Context:
        """The context of a station before anything about its flight is known."""
        own = callsign == self.callsign
        return Context(
            standard=standard(self.field.standard),
            world=self.world,
            callsign=callsign,
            runway=self.runway,
            station=self.field.tower.lower(),
            distance_nm=round(self.field.report_initial_nm),
            side=self.field.runway(self.runway).break_side,
            flight=self.flight if own else None,
            souls=self.souls if own else None,
            fuel_min=self.fuel_min if own else None,
        )
