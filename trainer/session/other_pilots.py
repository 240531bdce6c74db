"""What the pilots of the other aircraft say and when: each call as it falls due, and what they answer.

How they say it, and what they want, is their `Pilot`'s.
"""

from collections.abc import Callable

from trainer.session.aircraft import CALLS_AGAIN_AFTER_S, Aircraft
from trainer.session.desk import Desk
from trainer.session.events import CONSEQUENCES
from trainer.session.frequency import PLANNING_S, Frequency, Transmission
from trainer.session.pilots import SAY_AGAIN, Words
from trainer.session.wishes import sees_room, wished_call
from trainer.tower.picture import Asked


class OtherPilots:
    """`missed` is told of a call that was not made: whose and which, and what that leads to."""

    def __init__(self, frequency: Frequency, desk: Desk, missed: Callable[[str, str], None]) -> None:
        self._frequency = frequency
        self._desk = desk
        self._missed = missed

    def call(self, aircraft: Aircraft) -> None:
        """Each call when it is due; again where the tower did not understand, or did not answer."""
        if aircraft.owed is not None or self._frequency.waits(aircraft.callsign):
            return
        if aircraft.is_deaf(self._desk.now) or aircraft.pilot is None:
            return
        again = aircraft.says_again()
        if again is not None:
            self._says(aircraft, again)
            return
        wanted = wished_call(aircraft, self._desk.now)
        if wanted is not None and sees_room(wanted, aircraft.callsign, self._desk.picture()):
            self._says(aircraft, wanted)
            return
        if aircraft.awaiting is not None and self._desk.now - aircraft.awaiting < CALLS_AGAIN_AFTER_S:
            return
        for window in aircraft.due_windows():
            if aircraft.pilot.calls_at(window) > self._desk.now:
                continue
            aircraft.has_made(window.call)
            last_go = window.call == "request_closed" and aircraft.approach >= len(aircraft.circuits)
            if last_go:
                continue
            self._says(aircraft, window.call)
            return

    def answer(self, aircraft: Aircraft) -> None:
        """What it owes; where it says nothing the tower will repeat its message."""
        assert aircraft.pilot is not None
        assert aircraft.owed is not None
        if aircraft.is_deaf(self._desk.now):
            return
        expected = aircraft.owed.expected
        words = aircraft.pilot.answers_otherwise(aircraft.owed.message, expected)
        if words is SAY_AGAIN:
            expected = aircraft.expect("say_again")
            words = Words(expected.model_call, right=True)
        words = words or aircraft.pilot.says(expected)
        if words is None:
            return
        self._frequency.reserve(aircraft.callsign, self._desk.now)
        self._frequency.offer(
            Transmission(
                aircraft.callsign, words.text, self._desk.now + PLANNING_S, meant=expected, right=words.right
            )
        )

    def _says(self, aircraft: Aircraft, call: str) -> None:
        assert aircraft.pilot is not None
        aircraft.flight.advance(self._desk.now)
        if call == "check_in" and aircraft.emergency and not aircraft.contact:
            call = "emergency"
            aircraft.not_heard("check_in")  # what it wants it says next
        expected = aircraft.expect(call) if not call.startswith("answer") else None
        words = aircraft.pilot.says(expected) if expected else None
        if words is None or expected is None:
            self._forgot(aircraft, call)
            return
        aircraft.awaiting = self._desk.now
        self._frequency.offer(
            Transmission(aircraft.callsign, words.text, self._desk.now, meant=expected, right=words.right)
        )

    def _forgot(self, aircraft: Aircraft, call: str) -> None:
        if call not in CONSEQUENCES:
            return
        self._missed(f"{aircraft.callsign} {call}", CONSEQUENCES[call])
        if call in ("gear_report", "final"):
            asked = Asked(call, aircraft.callsign, aircraft.intention)
            self._desk.ask(aircraft, "check_wheels_down", asked)
