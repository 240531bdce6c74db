"""`patternvoice` without a command: the start screen, and what stands behind it.

The screens ask the `FrontDesk`, which reads files, opens engines and keeps what was chosen.
"""

from collections import deque
from collections.abc import Callable
from contextlib import ExitStack

from phraseology.elements import Kind
from phraseology.replies import message, say_message
from phraseology.standards import standard
from trainer import compose, microphone_check, saying
from trainer.errors import KNOWN_ERRORS, TrainerError
from trainer.live.choosing import Choosing
from trainer.live.hearing import EarsEvent
from trainer.live.session import LiveSession
from trainer.live.shelf import Shelved, shelf, verdict
from trainer.live.start import (
    How,
    closing_account,
    keep_difficulty,
    level,
    needs_a_terminal,
    open_flight,
    plan_of,
)
from trainer.live.terminal import library_noise_to
from trainer.logbook.locations import data_folder
from trainer.logbook.store import Logbook
from trainer.models import chosen_model
from trainer.session.frequency import TOWER
from trainer.settings import Choice, load_settings, save_settings


class FrontDesk:
    """`stack` lets go of what is opened here."""

    def __init__(self, stack: ExitStack, logbook: Logbook, notices: deque[str]) -> None:
        self._stack = stack
        self._logbook = logbook
        self.notices = notices
        settings, notice = load_settings()
        if notice:
            notices.append(notice)
        self.first_time = settings.last is None
        self.choosing = Choosing(settings.last or Choice(), level(None))
        self.live: LiveSession | None = None

    def open(self, post: Callable[[EarsEvent], None]) -> LiveSession:
        """What is chosen, ready to be flown, and kept for the next time. Known errors where it is not."""
        chosen = self.choosing.choice
        seed = 1 if chosen.drill else len(self._logbook.sessions()) + 1
        free = {"aircraft": chosen.aircraft, "standard": chosen.standard} if not chosen.drill else {}
        difficulty = None if chosen.drill else self.choosing.difficulty
        plan, own_pace = plan_of(chosen.drill, chosen.callsign, chosen.field, None, seed, difficulty, **free)
        spoken, sound = chosen.ears == "spoken", chosen.ears != "silent"
        model = chosen_model() if spoken else None
        how = How(chosen.pace or own_pace, seed, model, sound, typed=not spoken)
        with ExitStack() as attempt:
            opened = open_flight(attempt, self._logbook, plan, how, self.notices)
            self._stack.push(attempt.pop_all())
        self._keep(chosen)
        self.live = opened.hear_for(post)
        return self.live

    def _keep(self, chosen: Choice) -> None:
        try:
            save_settings(load_settings()[0].model_copy(update={"last": chosen}))
        except TrainerError as error:
            self.notices.append(str(error))

    def shelf(self) -> list[Shelved]:
        """The drills that there are."""
        return shelf()

    def verdict(self, shelved: Shelved) -> str:
        """What `check` says of a drill; from any thread."""
        return verdict(shelved)

    def microphone_in_words(self) -> str:
        """What was found when it was measured last."""
        found, _ = microphone_check.kept()
        return microphone_check.in_words(found) if found else "never measured; F4 does it in ten seconds"

    def measure(self, stopped: Callable[[], bool]) -> str:
        """Ten seconds with the microphone, then a word from the tower; what came of it. From any thread."""
        try:
            microphone, lack = compose.open_microphone()
            if microphone is None:
                return f"{lack} Or choose typed calls."
            found = microphone_check.take(microphone_check.record(microphone, stopped=stopped))
            return f"{microphone_check.in_words(found)} {self._tower_says()}" if not stopped() else ""
        except KNOWN_ERRORS as error:
            return str(error)

    def _tower_says(self) -> str:
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
    """Show the start screen, fly what is chosen there, and give the closing account. The exit status."""
    needs_a_terminal("patternvoice")
    notices: deque[str] = deque()
    with ExitStack() as stack:
        logbook = stack.enter_context(compose.open_logbook())
        if logbook.notice:
            notices.append(logbook.notice)
        stack.enter_context(library_noise_to(data_folder() / "sound.log"))
        desk = FrontDesk(stack, logbook, notices)
        from trainer.screens.start_app import StartApp  # late: the screen's library takes a while to load

        app = StartApp(desk)
        app.run()
    if desk.live is not None:
        keep_difficulty(desk.live)
        print(closing_account(desk.live))
    return app.return_code or 0
