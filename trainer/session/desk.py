"""The controller's desk: what he has heard from each aircraft, what he waits for, what he says next.

One and the same for the trainee and for the others. What is decided is the tower's (`trainer.tower`);
here it is kept whom an answer is owed by, what was repeated, and who waits for a second word.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

from drills.steps import TowerStep
from phraseology.calls import CALLS
from phraseology.elements import Kind
from phraseology.readback import answer_to
from phraseology.replies import Message, message
from trainer.pattern.leg import Leg
from trainer.session.aircraft import Aircraft
from trainer.session.dialogue import Spoken, asked_by, only_calls
from trainer.session.frequency import Frequency
from trainer.session.notices import Notice
from trainer.session.owed import Owed
from trainer.session.plan import SessionPlan
from trainer.session.speaking import ANSWER_WITHIN_S, NO_ANSWER, Speaking
from trainer.tower.calling_breaks import ON_THE_LINE
from trainer.tower.conduct import Conduct
from trainer.tower.emergencies import in_the_way, make_way, pattern_closed
from trainer.tower.hearback import question_after
from trainer.tower.items import with_items
from trainer.tower.kinds import ASKS_FIRST, KEEPS_APART, MORE_TO_COME, QUESTIONS
from trainer.tower.landing import SHORT_FINAL_S, send_around
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.policy import decide, next_word
from trainer.tower.script import Forced, Script
from trainer.tower.traps import Traps
from trainer.tower.watch import part
from trainer.tower.words import nearest_point
from trainer.traffic.outlook import Outlooks

FOLLOW_UP_AFTER_S = 6.0
WATCH_EVERY_S = 4.0
SILENT_S = 5.0
"""How long a pilot waits for an answer before he calls again, where a drill gives none (our own choice)."""


class Desk(Speaking):
    """`unanswered` is told of an answer that never came: the aircraft and what was expected."""

    def __init__(
        self,
        plan: SessionPlan,
        frequency: Frequency,
        aircraft: Mapping[str, Aircraft],
        unanswered: Callable[[Aircraft, str], None],
        traps: Traps,
    ) -> None:
        super().__init__(plan, frequency, aircraft, unanswered)
        self._traps = traps
        self.conduct = Conduct()
        self._script = Script(plan.steps, self.conduct)
        self._left_unheard: list[tuple[float, str, str]] = []
        """When a call that the drill leaves unanswered falls due again, whose and which."""
        self._outlooks = Outlooks()
        self._follow_ups: dict[str, tuple[Asked, float]] = {}
        self._told: dict[str, float] = {}
        self._to_make_way: list[tuple[str, str]] = []
        """Who is still to hear of an emergency, and whose it is."""
        self._watched_at = 0.0
        self.items: int | None = None
        """Elements of a message to the trainee, where it may have more or fewer; None: as decided."""
        self.parts_aircraft = True
        """Of itself, those who will come too close."""

    def picture(self) -> Picture:
        aircraft = self._aircraft
        return Picture(
            self.now,
            self._plan.field,
            self._plan.runway,
            self._plan.wind,
            self._more.altimeter,
            {name: each.flight for name, each in aircraft.items()},
            {name: each.landing for name, each in aircraft.items()},
            frozenset(name for name, each in aircraft.items() if each.has_priority),
            self._outlooks,
            frozenset(name for name, each in aircraft.items() if each.emergency),
            self._plan.atis,
            self._plan.unavailable,
        )

    @property
    def forced_replies(self) -> tuple[tuple[float, TowerStep], ...]:
        """Those of the drill that have come up, and when."""
        return tuple(self._script.came_up)

    def forget(self, callsign: str) -> None:
        """The aircraft is gone."""
        self._outlooks.forget(callsign)
        self._follow_ups.pop(callsign, None)
        self._told.pop(callsign, None)
        self._more.forget(callsign)

    def obeyed(self, callsign: str) -> None:
        """The aircraft now flies what it was told: what was foreseen for it no longer holds."""
        if not self._more.will_change_altitude(callsign):
            self._outlooks.forget(callsign)
            self._told.pop(callsign, None)

    def unheard(self, aircraft: Aircraft, msg: Message) -> None:
        """The message has ended and the aircraft has not heard it: it flies on as before."""
        self._outlooks.forget(aircraft.callsign)
        self.sent(aircraft, msg)

    def no_longer_waits(self, callsign: str) -> None:
        self._follow_ups.pop(callsign, None)

    # -- what pilots say --------------------------------------------------------------------------

    def called(self, aircraft: Aircraft, spoken: Spoken) -> None:
        """A call, as heard and as judged."""
        call = spoken.expected.name
        if call == "say_again":
            self.say_last_again(aircraft)
            return
        if only_calls(spoken.parsed, aircraft.callsign):
            self._calls_only(aircraft, spoken)
            return
        question = question_after(spoken.assessment)
        if question and not spoken.expected.given_away_by(spoken.parsed):
            question = "say_again"  # nobody knows which call this was to be
        asked = asked_by(spoken, aircraft.callsign, aircraft.atis, aircraft.intention)
        if question:
            self.ask(aircraft, question, asked, spoken)
        else:
            self.understood(aircraft, asked)

    def _calls_only(self, aircraft: Aircraft, spoken: Spoken) -> None:
        """Nothing but whom and who: he is to go ahead."""
        self.says(message("go_ahead", aircraft.callsign, {}), ("the pilot called and said no more",))
        if not aircraft.is_trainee:
            aircraft.will_say_again(spoken.expected.name)

    def understood(self, aircraft: Aircraft, asked: Asked) -> None:
        """A call that can be used: the tower decides, unless a drill has decided for it."""
        aircraft.owed = None
        aircraft.contact = True
        aircraft.has_made(asked.call)
        self.act_at_once(aircraft, asked.call, asked.point)
        if asked.call == "emergency" and not aircraft.emergency_known:
            self._has_the_pattern(aircraft)
        self._decide(aircraft, asked)

    def _has_the_pattern(self, aircraft: Aircraft) -> None:
        """An emergency: the pattern is closed, and who could be in the way leaves."""
        aircraft.emergency = aircraft.emergency_known = True
        reasons = (f"{aircraft.callsign} has an emergency",)
        self.says(pattern_closed(), reasons)
        way = in_the_way(aircraft.callsign, self.picture())
        self._to_make_way += [(name, aircraft.callsign) for name in way]

    def act_at_once(self, aircraft: Aircraft, call: str, point: str | None = None) -> None:
        """What a pilot does when he says it, without waiting for the tower."""
        flight = aircraft.flight
        if call == "going_around" and "go_around" in flight.possible:
            flight.go_around(self.now)
        if call == "straight_through" and "straight_through" in flight.possible:
            flight.straight_through(self.now)
        if call == "climbing_out" and "climb_out" in flight.possible:
            to = point if point in self._plan.field.points else nearest_point(flight, self.picture())
            flight.climb_out(self.now, float(self._plan.field.breakout_altitude_ft), to)
        if call in ("climbing_out", "going_around", "straight_through"):
            self.obeyed(aircraft.callsign)

    def answered(self, aircraft: Aircraft, spoken: Spoken) -> None:
        """An answer to what the tower said, as heard and as judged."""
        owed = aircraft.owed
        assert owed is not None
        if spoken.expected.name == "say_again":
            self.say_last_again(aircraft)
            return
        question = question_after(spoken.assessment)
        if spoken.assessment.refused and question is None:
            self._refused(aircraft, spoken)
        elif question is None:
            self.answered_well(aircraft, spoken.parsed.value(Kind.INTENTION))
        elif question == "say_again" and spoken.assessment.unsure:
            self.says(message("say_again", aircraft.callsign, {}), ("the answer was not clear",))
            aircraft.owed = replace(owed, since=self.now)
        else:
            self._repeat(aircraft, owed, "the read-back was wrong", corrects=owed.then is None)

    def answered_well(self, aircraft: Aircraft, intention: str | None = None) -> None:
        """The answer that was owed has come; what waited for it is decided now."""
        owed, aircraft.owed = aircraft.owed, None
        if owed is not None and owed.message.corrects:
            self.says(message("readback_correct", aircraft.callsign, {}), ("the correction was read back",))
        inbound = aircraft.flight.leg is Leg.INBOUND  # he says next what he wants
        if owed is not None and owed.message.kind == "say_fuel_and_souls" and not inbound:
            self._decide(aircraft, Asked("emergency_details", aircraft.callsign))
        if owed is not None and owed.then is not None and owed.then.call in CALLS:
            aircraft.has_made(owed.then.call)
            aircraft.contact = True
            self._decide(aircraft, replace(owed.then, intention=intention or owed.then.intention))

    def _refused(self, aircraft: Aircraft, spoken: Spoken) -> None:
        """ "Unable" is always available: what was approved is not used, and the tower asks what then."""
        aircraft.owed = None
        aircraft.flight.refuse(self.now)
        self.obeyed(aircraft.callsign)
        if spoken.parsed.has(Kind.ACTION, "going_around"):
            self.act_at_once(aircraft, "going_around")
        else:
            self.ask(aircraft, "say_intentions", Asked("refusal", aircraft.callsign))

    # -- what the tower says ----------------------------------------------------------------------

    def _decide(self, aircraft: Aircraft, asked: Asked) -> None:
        if asked.intention is not None and asked.call in ("gear_report", "final", "intention"):
            aircraft.said_landing = asked.intention
        picture = self.picture()
        consulted = aircraft.is_trainee and not asked.scripted
        forced = self._script.forced(asked, picture) if consulted else None
        if forced is not None:
            self._force(aircraft, replace(asked, scripted=True), forced)
        else:
            self._carry_out(asked, decide(asked, picture))

    def _force(self, aircraft: Aircraft, asked: Asked, forced: Forced) -> None:
        """What a drill has the tower answer: nothing, a question first, or a reply, perhaps with an error."""
        decision = forced.decision
        if decision is None:
            self._left_unheard.append((self.now + SILENT_S, asked.callsign, asked.call))
        elif decision.message.kind == "say_again":
            self.says(decision.message, decision.reasons, note=decision.note)
            aircraft.not_heard(asked.call)
        elif decision.message.kind in QUESTIONS:
            self.ask(aircraft, decision.message.kind, asked, because=decision)
        else:
            self._carry_out(asked, decision, forced.trap, blocked=forced.step.trap == "blocked")

    def would_say(self, asked: Asked) -> Message:
        """The answer to this call of the trainee, were it made now; the tower's errors aside."""
        picture = self.picture()
        decision = self._script.foreseen(asked, picture) or decide(asked, picture)
        return self._filled(asked.callsign, decision.message)

    def _filled(self, callsign: str, msg: Message) -> Message:
        if self.items is None or not self._aircraft[callsign].is_trainee:
            return msg
        return with_items(msg, self.items, self.picture())

    def _carry_out(
        self, asked: Asked, decision: Decision, trap: Message | None = None, *, blocked: bool = False
    ) -> None:
        """`trap` is what is said instead, by a drill; else the tower errs at its own rate."""
        decision = replace(decision, message=self._filled(asked.callsign, decision.message))
        ends = [runway.end for runway in self._plan.field.runways]
        keeps_apart = not asked.call or decision.message.kind in KEEPS_APART
        if trap is None and not keeps_apart:
            trap = self._traps.instead_of(decision.message, self._plan.runway, ends, self._aircraft)
        sent = trap or decision.message
        reasons = (*decision.reasons, "an error of the tower") if trap else decision.reasons
        self.says(sent, reasons, decision.after, at_once=not asked.call, note=decision.note, blocked=blocked)
        if trap is not None and trap.to != asked.callsign:
            self._aircraft[asked.callsign].not_heard(asked.call)
        elif trap is not None:
            self._aircraft[asked.callsign].owed_right = asked
        elif decision.course is not None:
            aircraft = self._aircraft[asked.callsign]
            self._outlooks.intend(asked.callsign, decision.course, aircraft.flight, aircraft.landing)
        if sent.to == asked.callsign:
            self._told[asked.callsign] = self.now
        if decision.then is not None and trap is None:
            self._more.keep(decision.then, decision.reasons)
        waiting = asked if asked.call else self._reported_before(decision.message)
        if decision.message.kind == "straight_ins_closed":
            waiting = replace(asked, request=None)
        if decision.message.kind in MORE_TO_COME and waiting is not None:
            self._follow_ups[asked.callsign] = (waiting, self.now + FOLLOW_UP_AFTER_S)
        else:
            self._follow_ups.pop(asked.callsign, None)
        if decision.message.kind in ASKS_FIRST and asked.call and trap is None:
            aircraft = self._aircraft[asked.callsign]
            expected = answer_to(sent, aircraft.context)
            then = replace(asked, gear=None, letter=None, has_atis=True)
            aircraft.owed = Owed(sent, expected, self.now, then=then)

    def _reported_before(self, msg: Message) -> Asked | None:
        """Of itself the tower extends a downwind: whoever has reported his gear waits for his turn; the
        others will report it."""
        aircraft = self._aircraft[msg.to]
        reported = (aircraft.flight.leg_since, "gear_report") in aircraft.made
        if msg.kind != "extend_downwind" or not reported:
            return None
        return Asked("gear_report", msg.to, aircraft.landing)

    # -- what the tower does of itself ------------------------------------------------------------

    def tend(self) -> None:
        """Whatever is due by now: second words, answers that did not come, aircraft that come too close."""
        self._watch()
        self._let_call_again()
        self._follow_up()
        for aircraft in list(self._aircraft.values()):
            owed = aircraft.owed
            if owed and self._frequency.quiet and self.now - owed.since > ANSWER_WITHIN_S:
                self._repeat(aircraft, owed, NO_ANSWER, corrects=False)
        self._say_more()

    def _let_call_again(self) -> None:
        """A call that the drill leaves unanswered is due again after a while."""
        due = [each for each in self._left_unheard if each[0] <= self.now]
        self._left_unheard = [each for each in self._left_unheard if each[0] > self.now]
        for _, callsign, call in due:
            self._aircraft[callsign].not_heard(call)

    def announce(self, notice: Notice) -> None:
        """Said as soon as the air is quiet and nobody owes an answer."""
        self._more.add(notice)

    def _say_more(self) -> None:
        """The rest of a message; what can wait once nothing else is to be said."""
        rest = self._more.rest_of_a_message(self._aircraft)
        if rest is not None:
            self.says(*rest, at_once=rest[0].kind == "maintain")
        if not self._frequency.quiet or self._frequency.must_answer:
            return
        while self._to_make_way:
            name, emergency = self._to_make_way.pop(0)
            decision = make_way(name, emergency, self.picture())
            if decision is not None:
                self._carry_out(Asked("", name), decision)
                return
        waiting = sum(asked.call in ("check_in", "entry_point") for asked, _ in self._follow_ups.values())
        found = self._more.next(self.picture(), self._aircraft, waiting)
        if found is not None:
            self.says(*found)

    def _follow_up(self) -> None:
        """Those told to continue, extend, hold or stand by hear again when there is something to say."""
        if not self._follow_ups or not self._frequency.quiet or self._frequency.must_answer:
            return
        for callsign, (asked, after) in list(self._follow_ups.items()):
            if self.now < after:
                continue
            if asked.call == "initial" and self._aircraft[callsign].flight.leg not in ON_THE_LINE:
                del self._follow_ups[callsign]
                continue
            decision = next_word(asked, self.picture())
            if decision is None or decision.message.kind in MORE_TO_COME - {"continue_approach"}:
                self._follow_ups[callsign] = (asked, self.now + WATCH_EVERY_S / 2.0)
                continue
            self._carry_out(asked, decision)
            return

    def _watch(self) -> None:
        if self.now - self._watched_at < WATCH_EVERY_S or len(self._aircraft) < 1:
            return
        self._watched_at = self.now
        picture = self.picture()
        for callsign, aircraft in self._aircraft.items():
            if aircraft.flight.leg is Leg.FINAL and aircraft.flight.clearances.landing is None:
                to_go = aircraft.flight.path.ends_at - self.now
                unheard = callsign not in self._follow_ups and callsign not in self._told
                if unheard and aircraft.contact and to_go < SHORT_FINAL_S:
                    self._carry_out(
                        Asked("", callsign),
                        send_around(Asked("", callsign), picture, "no gear report, no clearance"),
                    )
                    return
        recently = {name for name, at in self._told.items() if self.now - at < 4.0 * ANSWER_WITHIN_S}
        decision = part(picture, frozenset(recently)) if self.parts_aircraft else None
        if decision is not None:
            self._carry_out(Asked("", decision.message.to), decision)
