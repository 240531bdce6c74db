"""`patternvoice` without a command: the start screen, and what stands behind it.

The screens ask the `FrontDesk`, which reads files, opens engines and keeps what was chosen. What the first
screen does not need is imported where it is needed: that halves the time until it is there.
"""

from collections import deque
from collections.abc import Callable
from contextlib import ExitStack
from datetime import datetime
from importlib import import_module
from typing import TYPE_CHECKING

from trainer.errors import KNOWN_ERRORS, TrainerError
from trainer.live.choosing import Choosing
from trainer.live.terminal import library_noise_to, needs_a_terminal
from trainer.logbook.locations import data_folder
from trainer.session.difficulty import USUAL
from trainer.settings import Choice, load_settings, save_settings

if TYPE_CHECKING:
    from trainer.live.afterwards import LookBack
    from trainer.live.hearing import EarsEvent
    from trainer.live.session import LiveSession
    from trainer.live.shelf import Shelved
    from trainer.logbook.store import Logbook


class FrontDesk:
    """One flight after the other. `stack` lets go of what is opened here."""

    def __init__(self, stack: ExitStack, notices: deque[str]) -> None:
        self._stack = stack
        self._flight = ExitStack()
        self._logbook: Logbook | None = None
        self.notices = notices
        self.accounts: list[str] = []
        """The closing account of each flight."""
        settings, notice = load_settings()
        if notice:
            notices.append(notice)
        self.first_time = settings.last is None
        level = USUAL if settings.difficulty is None else settings.difficulty
        self.choosing = Choosing(settings.last or Choice(), level, settings.recordings or "off")
        self.live: LiveSession | None = None

    def open(self, post: "Callable[[EarsEvent], None]") -> "LiveSession":
        """What is chosen, ready to be flown, and kept for the next time. Known errors where it is not."""
        from trainer.live.start import How, open_flight, plan_of
        from trainer.models import chosen_model

        chosen, logbook = self.choosing.choice, self._open_logbook()
        seed = 1 if chosen.drill else len(logbook.sessions()) + 1
        free = {"aircraft": chosen.aircraft, "standard": chosen.standard} if not chosen.drill else {}
        difficulty = None if chosen.drill else self.choosing.difficulty
        plan, own_pace = plan_of(chosen.drill, chosen.callsign, chosen.field, None, seed, difficulty, **free)
        spoken, sound = chosen.ears == "spoken", chosen.ears != "silent"
        model = chosen_model() if spoken else None
        how = How(chosen.pace or own_pace, seed, model, sound, typed=not spoken)
        if sound:
            self._keep(recordings=self.choosing.recordings)
        with ExitStack() as attempt:
            opened = open_flight(attempt, logbook, plan, how, self.notices)
            self._flight = attempt.pop_all()
        self._keep(last=chosen)
        self.live = opened.hear_for(post)
        return self.live

    def close_flight(self) -> None:
        """Let go of the flight, if there is one, and take down its account."""
        from trainer.live.start import closing_account, keep_difficulty

        live, self.live = self.live, None
        if live is None:
            return
        self._flight.close()
        keep_difficulty(live)
        self.accounts.append(closing_account(live))
        self.notices.clear()
        if live.session.level is not None:
            self.choosing.goes_on_at(live.session.level)

    def _open_logbook(self) -> "Logbook":
        """Checked when it is first wanted, which takes a second where it is large."""
        from trainer import compose

        if self._logbook is None:
            self._logbook = self._stack.enter_context(compose.open_logbook())
            self._stack.callback(self.close_flight)  # before the logbook is closed
            if self._logbook.notice:
                self.notices.append(self._logbook.notice)
        return self._logbook

    def look_back(self, now: datetime) -> "LookBack | str":
        """All sessions so far; a sentence where the logbook does not give them."""
        from trainer.live.afterwards import look_back

        try:
            return look_back(self._open_logbook(), now)
        except KNOWN_ERRORS as error:
            return str(error)

    def _keep(self, **chosen: object) -> None:
        try:
            save_settings(load_settings()[0].model_copy(update=chosen))
        except TrainerError as error:
            self.notices.append(str(error))

    def shelf(self) -> "list[Shelved]":
        """The drills that there are."""
        from trainer.live.shelf import shelf

        return shelf()

    def verdict(self, shelved: "Shelved") -> str:
        """What `check` says of a drill; from any thread."""
        from trainer.live.shelf import verdict

        return verdict(shelved)

    def get_ready(self) -> None:
        """Load what a flight needs, while the trainee still chooses; from any thread."""
        import_module("trainer.live.start")

    def microphone_in_words(self) -> str:
        """What was found when it was measured last; from any thread."""
        from trainer import microphone_check

        found, _ = microphone_check.kept()
        return microphone_check.in_words(found) if found else "never measured; F4 does it in ten seconds"

    def measure(self, stopped: Callable[[], bool]) -> str:
        """Ten seconds with the microphone, then a word from the tower; what came of it. From any thread."""
        from trainer import compose, microphone_check

        try:
            microphone, lack = compose.open_microphone()
            if microphone is None:
                return f"{lack} Or choose typed calls."
            found = microphone_check.take(microphone_check.record(microphone, stopped=stopped))
            return f"{microphone_check.in_words(found)} {self._tower_says()}" if not stopped() else ""
        except KNOWN_ERRORS as error:
            return str(error)

    def _tower_says(self) -> str:
        from phraseology.elements import Kind
        from phraseology.replies import message, say_message
        from phraseology.standards import standard
        from trainer import compose, saying
        from trainer.session.frequency import TOWER

        field = self.choosing.field
        spoken = standard(field.standard) if field else None
        callsign = self.choosing.choice.callsign
        try:
            assert spoken is not None  # a field that cannot be read has no voice
            words = say_message(message("readability", callsign, {Kind.READABILITY: "5"}), spoken)
            with compose.open_speaker(spoken) as speaker:
                saying.play(saying.make(speaker, spoken, words, TOWER).sound)
        except KNOWN_ERRORS as error:
            return f"The tower could not be heard: {error}"
        return f'The tower said: "{words}". Did you hear it?'


def start() -> int:
    """Show the start screen, fly what is chosen there, give an account of each flight. The exit status."""
    needs_a_terminal("patternvoice")
    with ExitStack() as stack:
        stack.enter_context(library_noise_to(data_folder() / "sound.log"))
        desk = FrontDesk(stack, deque())
        from trainer.screens.start_app import StartApp  # late: the screen's library takes a while to load

        app = StartApp(desk)
        app.run()
    if desk.accounts:
        print("\n\n".join(desk.accounts))
    return app.return_code or 0
