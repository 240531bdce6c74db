"""A drill flown once before anybody flies it: by a synthetic trainee who types every model call.

It shows which forced replies come up, whether the drill runs to its end, and which of them endanger: those
after which two aircraft that obey come closer than the field's minimum if the tower does not part them of
itself; and a landing clearance for a runway that will not be free. No sound, no clock, no chance beyond the
drill's own demand and what the seed draws. A branch that the book never takes is flown by one who errs.
"""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from drills.drill import Drill
from drills.errors import Problem, Severity
from drills.field import Field
from drills.steps import READ_BACK, Condition
from phraseology.expected import Expected
from phraseology.heard import Heard
from trainer.commands.simulate import speech_seconds
from trainer.session.events import SessionEnded
from trainer.session.pilots import wrong_figure
from trainer.session.plan import SessionPlan
from trainer.session.session import Session
from trainer.tower.probe import runway_blocker
from trainer.traffic.separation import Nearest, SeparationWatch

STEP_S = 0.5
MOST_SUSPECTS = 6
"""So many forced replies before a meeting are each left out for once, to see whether it is their doing."""
_REMEDY = "force another, move the traffic, or leave this one to the tower"


@dataclass(frozen=True)
class Meeting:
    """Two that obeyed came closer than the field's minimum, first at second `first_at`."""

    first_at: float
    nearest: Nearest

    @property
    def pair(self) -> frozenset[str]:
        return frozenset((self.nearest.one, self.nearest.other))

    def account(self, minimum_nm: float) -> str:
        near = self.nearest
        who = " and ".join(
            f"{name} ({leg.value.replace('_', ' ')})"
            for name, leg in zip((near.one, near.other), near.legs, strict=True)
        )
        return (
            f"{who} come within {near.nm:.2f} NM at {_clock(near.at)} although they obey; "
            f"the field's minimum is {minimum_nm:g}"
        )


@dataclass(frozen=True)
class Rehearsal:
    """`forced` are session seconds and places in the drill's list `tower`, as they came up, `happened` places
    in its list `events`; `blocked` those
    landing clearances after which somebody would still be on the runway: when, which, and who."""

    drill: Drill
    field: Field
    ended: SessionEnded
    forced: tuple[tuple[float, int], ...]
    happened: tuple[int, ...]
    meetings: tuple[Meeting, ...]
    blocked: tuple[tuple[float, int, str], ...]

    def problems(self) -> Iterator[Problem]:
        """What an instructor should know of it; flies it again where it must be known whose doing it is."""
        minimum_nm = self.field.minimum_separation_nm
        forced_together: set[frozenset[str]] = set()
        for meeting in rehearse(self.drill, self.field, parted=False).meetings if self.forced else ():
            guilty = self._guilty(meeting)
            if guilty is not None:
                forced_together.add(meeting.pair)
                what = f"{meeting.account(minimum_nm)}, unless the tower parts them of itself"
                yield self._danger(*guilty, what)
        for at, index, whom in self.blocked:
            yield self._danger(
                at, index, f"{whom} would still be on the runway when {self.drill.callsign} lands"
            )
        for meeting in self.meetings:
            if meeting.pair not in forced_together:
                yield self._of_the_traffic(meeting)
        yield from self._not_flown()

    def _danger(self, at: float, index: int, what: str) -> Problem:
        return Problem(("tower", index, "reply"), f"after this forced reply at {_clock(at)} {what}", _REMEDY)

    def _of_the_traffic(self, meeting: Meeting) -> Problem:
        what = meeting.account(self.field.minimum_separation_nm)
        for index, other in enumerate(self.drill.traffic):
            if other.callsign in meeting.pair:
                return Problem(("traffic", index), what, "let it start elsewhere or at another time")
        return Problem(("demand",), what, "ask for fewer aircraft")

    def _not_flown(self) -> Iterator[Problem]:
        came_up = {("tower", index) for _, index in self.forced} | {
            ("events", index) for index in self.happened
        }
        branches = [("tower", index, step.when) for index, step in enumerate(self.drill.tower)]
        branches += [("events", index, event.when) for index, event in enumerate(self.drill.events)]
        for key, index, when in branches:
            if when is not None and (key, index) not in came_up:
                flown = rehearse(self.drill, self.field, erring=when)
                came_up |= {("tower", place) for _, place in flown.forced}
                came_up |= {("events", place) for place in flown.happened}
                for meeting in flown.meetings:
                    what = meeting.account(self.field.minimum_separation_nm)
                    yield Problem((key, index), f"on this branch {what}", _REMEDY)
        for index, event in enumerate(self.drill.events):
            if ("events", index) not in came_up:
                yield Problem(
                    ("events", index),
                    f"this event, {event.tower or event.trainee}, never comes up",
                    "change its time, leg or condition, or delete it",
                    Severity.WARNING,
                )
        for index, step in enumerate(self.drill.tower):
            if ("tower", index) not in came_up:
                yield Problem(
                    ("tower", index),
                    f"flown by the book this reply to {step.on} never comes up",
                    "change its occurrence or the circuits, or delete it",
                    Severity.WARNING,
                )
        if self.ended.reason == "the time is up":
            yield Problem(
                ("time_limit_minutes",),
                f"flown by the book the drill is not over after {self.drill.time_limit_minutes:g} minutes",
                "raise time_limit_minutes, or change the forced replies",
                Severity.WARNING,
            )

    def _guilty(self, meeting: Meeting) -> tuple[float, int] | None:
        """The last forced reply before it without which the two would not have met."""
        before = [forced for forced in self.forced if forced[0] < meeting.first_at]
        for at, index in reversed(before[-MOST_SUSPECTS:]):
            steps = self.drill.tower[:index] + self.drill.tower[index + 1 :]
            without = rehearse(self.drill.model_copy(update={"tower": steps}), self.field, parted=False)
            if all(other.pair != meeting.pair for other in without.meetings):
                return at, index
        return None


Saying = Callable[[Session, Expected], str | None]
"""What is said at a prompt; None: nothing, as long as it stands."""


def by_the_book(session: Session, prompt: Expected) -> str | None:
    return prompt.model_call


def rehearse(
    drill: Drill,
    field: Field,
    *,
    parted: bool = True,
    erring: Condition | None = None,
    saying: Saying = by_the_book,
    seed: int = 1,
) -> Rehearsal:
    """Fly the drill to its end, or to its time limit; `parted`: the tower parts of itself those who will come
    too close; `erring`: the trainee errs once, so that this holds. PatternError for a field that cannot be
    flown."""
    says = Erring(erring) if erring is not None else saying
    return _Rehearsing(drill, field, says, parted=parted, seed=seed).fly()


class Erring:
    """By the book, but for one call: missed, or said with a wrong figure in the call sign."""

    def __init__(self, condition: Condition) -> None:
        self._condition = condition
        self._done = False

    def __call__(self, session: Session, prompt: Expected) -> str | None:
        wanted, conduct = self._condition, session.conduct
        self._done = self._done or conduct.holds(wanted)
        is_answer = prompt.name.startswith(("answer_to", "challenge"))
        matches = is_answer if wanted.call == READ_BACK else prompt.name == wanted.call
        before = conduct.count(wanted.call)
        its_turn = wanted.occurrence == "any" or before == int(wanted.occurrence) - 1
        if self._done or not matches or not its_turn or wanted.was == "right":
            return prompt.model_call
        return None if wanted.was == "missed" else wrong_figure(prompt, random.Random(1))


class _Rehearsing:
    def __init__(self, drill: Drill, field: Field, saying: Saying, *, parted: bool, seed: int) -> None:
        self._drill = drill
        self._field = field
        self._saying = saying
        self._session = Session(SessionPlan.of_drill(drill, field, seed=seed), speech_seconds)
        self._session.part_aircraft(parted=parted)
        self._separation = SeparationWatch()
        self._first_at: dict[frozenset[str], float] = {}
        self._blocked: list[tuple[float, int, str]] = []
        self._looked = 0

    def fly(self) -> Rehearsal:
        session = self._session
        while session.ended is None:
            self._go_on(STEP_S)
            prompt = session.prompt
            if prompt is None or session.on_air or session.ended is not None:
                continue
            words = self._saying(session, prompt)
            if words is not None:
                session.trainee_keys()
                self._go_on(speech_seconds(session.plan.callsign, words))
                session.trainee_said(Heard.typed(words))
        return Rehearsal(
            self._drill,
            self._field,
            session.ended,
            tuple((at, self._drill.tower.index(step)) for at, step in session.forced_replies),
            tuple(self._drill.events.index(event) for _, event in session.happened),
            tuple(
                Meeting(self._first_at[frozenset((near.one, near.other))], near)
                for near in self._separation.nearer_than(self._field.minimum_separation_nm)
                if near.obeying
            ),
            tuple(self._blocked),
        )

    def _go_on(self, seconds: float) -> None:
        session = self._session
        if session.ended is not None:
            return
        session.advance(session.now + seconds)
        flights = {name: each.flight for name, each in session.aircraft.items()}
        astray = {name for name, each in session.aircraft.items() if each.astray_until > session.now}
        self._separation.look(session.now, flights, astray)
        for near in self._separation.nearer_than(self._field.minimum_separation_nm):
            self._first_at.setdefault(frozenset((near.one, near.other)), near.at)
        self._look_at_the_runway()

    def _look_at_the_runway(self) -> None:
        """As soon as the trainee is forced a landing clearance."""
        for at, step in self._session.forced_replies[self._looked :]:
            self._looked += 1
            blocker = runway_blocker(self._session.plan.callsign, self._session.picture())
            if step.reply == "cleared" and blocker is not None:
                self._blocked.append((at, self._drill.tower.index(step), blocker))


def _clock(at: float) -> str:
    """Session seconds as minutes and seconds."""
    return f"{int(at) // 60}:{int(at) % 60:02d}"
