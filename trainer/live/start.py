"""The `fly` command and what the start screen flies: builds all, runs the screen, gives the account."""

import sys
from collections import deque
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

from drills.check import load_drill, load_field
from drills.drill import Pace
from phraseology.elements import Callsign
from trainer import compose, microphone_check
from trainer.ears.errors import MissingWordsError
from trainer.ears.microphone import Microphone
from trainer.ears.recogniser import Recogniser
from trainer.errors import TrainerError
from trainer.live.book import open_book
from trainer.live.hearing import EarsEvent, Hearing
from trainer.live.session import LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.terminal import library_noise_to, needs_a_terminal
from trainer.logbook.locations import data_folder
from trainer.logbook.store import Logbook
from trainer.pattern.geometry import Geometry
from trainer.pattern.profiles import PROFILES
from trainer.radio_room import RadioRoom
from trainer.recording_choice import ask_about_recordings
from trainer.session.difficulty import USUAL, choices_for, level_of
from trainer.session.plan import SessionPlan
from trainer.settings import load_settings, save_settings
from voices.errors import VoiceError
from voices.playback import SilentPlayer
from voices.radio import SETTINGS

DEFAULT_CALLSIGN = "SABLE 21"
NO_SOUND = "started without sound"
TYPED = "started to be typed"


@dataclass(frozen=True)
class How:
    """How a plan is flown: `sound` False is neither microphone nor speaker, `typed` only no microphone.

    `radio` is a key of `voices.radio.SETTINGS`; `headphones` as in `LiveSession`; `model` None: the built-in.
    """

    pace: Pace
    seed: int = 1
    model: Path | None = None
    sound: bool = True
    typed: bool = False
    radio: str = "normal"
    headphones: bool = False


@dataclass(frozen=True)
class Opened:
    """A session with all its engines; the microphone does not run yet."""

    live: LiveSession
    microphone: Microphone | None
    recogniser: Recogniser | None
    gain_db: float

    def hear_for(self, post: Callable[[EarsEvent], None]) -> LiveSession:
        """The session, with ears that tell `post` what they hear."""
        live = self.live
        if self.microphone is not None and self.recogniser is not None:
            live.hearing = Hearing(
                self.microphone,
                self.recogniser,
                lambda: live.situation,
                lambda: live.muted,
                post,
                self.gain_db,
                resting=lambda: live.paused,
            )
        return live


def open_flight(
    stack: ExitStack, logbook: Logbook, plan: SessionPlan, how: How, notices: deque[str]
) -> Opened:
    """Builds what a session needs; `stack` lets go of it. Known errors where something cannot be had."""
    microphone, recogniser, gain_db = None, None, 0.0
    if how.sound and not how.typed:
        microphone, recogniser = _open_ears(plan, how.model, notices)
        gain_db = microphone_gain(notices)
    sounds = _open_sounds(stack, plan, how.seed, how.sound, notices, how.radio)
    book = open_book(logbook, plan, how.pace, how.seed, how.sound, notices)
    lack = (TYPED if how.sound else NO_SOUND) if microphone is None else None
    live = LiveSession(plan, how.pace, sounds, book, notices, lack, how.headphones)
    stack.callback(live.close)
    return Opened(live, microphone, recogniser, gain_db)


def fly(
    drill: str | None,
    callsign: str | None,
    field: str,
    runway: str | None,
    pace: Pace | None,
    seed: int,
    model: Path | None,
    sound: bool,
    typed: bool = False,
    difficulty: str | None = None,
    radio: str = "normal",
    headphones: bool = False,
) -> int:
    """Fly a drill, or free flight without one, on this terminal. Returns the exit status.

    Without `sound` nothing is played, heard or recorded; `typed` needs no microphone.
    `radio` is a key of `voices.radio.SETTINGS`; `headphones` as in `LiveSession`. Known errors
    (`trainer.errors.KNOWN_ERRORS`) for a bad drill, field, callsign or model, and for no microphone.
    """
    plan, drill_pace = plan_of(drill, callsign, field, runway, seed, difficulty)
    return fly_plan(plan, How(pace or drill_pace, seed, model, sound, typed, radio, headphones))


def fly_plan(plan: SessionPlan, how: How, command: str = "fly") -> int:
    """Fly this plan on this terminal. Returns the exit status; known errors as in `fly`.

    `command`: what the user typed, for a sentence about it.
    """
    needs_a_terminal(command)
    if how.sound and sys.stdin.isatty():
        if not how.typed:
            _open_microphone()  # nobody is asked about a flight that cannot be
        ask_about_recordings(input)
    notices: deque[str] = deque()
    with ExitStack() as stack:
        logbook = stack.enter_context(compose.open_logbook())
        if logbook.notice:
            notices.append(logbook.notice)
        stack.enter_context(library_noise_to(data_folder() / "sound.log"))
        opened = open_flight(stack, logbook, plan, how, notices)
        status = _run(opened)
    keep_difficulty(opened.live)
    print(closing_account(opened.live))
    return status


def _run(opened: Opened) -> int:
    from trainer.screens.app import FlightApp  # late: the screen's library takes a while to load

    app = FlightApp(opened.live)
    opened.hear_for(app.post_ears)
    app.run()
    return app.return_code or 0


def plan_of(
    drill: str | None,
    callsign: str | None,
    field: str,
    runway: str | None,
    seed: int,
    difficulty: str | None = None,
    aircraft: str | None = None,
    standard: str | None = None,
) -> tuple[SessionPlan, Pace]:
    """The plan and its own pace; known errors for what cannot be flown.

    `runway` None: the field's last. `difficulty` None: as the last free flight ended. `aircraft`, a key of
    `PROFILES`, and `standard`, in place of the field's, are for free flight: a drill says both itself.
    """
    if drill is None:
        name = str(Callsign.of(callsign or DEFAULT_CALLSIGN))
        place = load_field(field)
        if standard is not None:
            place = place.model_copy(update={"standard": standard})
        end = place.runway(runway or place.runways[-1].end).end
        free = SessionPlan.free_flight(place, end, name, seed, level(difficulty))
        if aircraft is not None:
            free = replace(free, profile=PROFILES[aircraft])
        return _for_all_classes(free), "real"
    if difficulty is not None:
        raise TrainerError("a drill says itself how hard it is", "leave out --difficulty, or --drill")
    briefed = load_drill(drill)
    own = str(Callsign.of(callsign)) if callsign else None
    taken = [other.callsign for other in briefed.traffic]
    if own in taken:
        raise TrainerError(f"{own} is another aircraft of this drill", "choose another callsign")
    plan = SessionPlan.of_drill(briefed, load_field(briefed.field), own, seed)
    return _for_all_classes(plan) if plan.visitors else plan, briefed.pace


def _for_all_classes(plan: SessionPlan) -> SessionPlan:
    """The plan, if every class that may come can fly the pattern; else PatternError."""
    for profile in PROFILES.values():
        Geometry(plan.pattern, profile)
    return plan


def level(difficulty: str | None) -> float:
    """The number, 0 to 100, of a name or a number; None: the one kept, else the usual one."""
    if difficulty is None:
        kept = load_settings()[0].difficulty
        return USUAL if kept is None else kept
    found = level_of(difficulty)
    if found is None:
        raise TrainerError(f'no difficulty "{difficulty}"', choices_for(difficulty))
    return found


def keep_difficulty(live: LiveSession) -> None:
    """The next free flight begins where this one ended; a notice if that cannot be kept."""
    if live.session.level is None:
        return
    try:
        save_settings(load_settings()[0].model_copy(update={"difficulty": live.session.level}))
    except TrainerError as error:
        live.notices.append(str(error))


def _open_ears(plan: SessionPlan, model: Path | None, notices: deque[str]) -> tuple[Microphone, Recogniser]:
    """Microphone and recogniser; a known error for a bad model, and for no microphone."""
    recogniser = compose.open_ears(model)
    names, words = compose.unheard_words(plan, recogniser)
    if plan.callsign.split()[0].lower() in names:
        raise MissingWordsError(names, recogniser.name)
    if names or words:
        notices.append(f"This recogniser cannot hear: {', '.join([*names, *words])}. Type calls with these.")
    return _open_microphone(), recogniser


def _open_microphone() -> Microphone:
    microphone, lack = compose.open_microphone()
    if microphone is None:
        raise TrainerError(str(lack), "or type your calls with patternvoice fly --typed")
    return microphone


def microphone_gain(notices: deque[str]) -> float:
    """What the microphone is raised by, in dB, as `doctor` measured it; the trainee is told what matters."""
    found, notice = microphone_check.kept()
    if notice:
        notices.append(notice)
    return found.gain_db if found else 0.0


def _open_sounds(
    stack: ExitStack, plan: SessionPlan, seed: int, sound: bool, notices: deque[str], radio: str
) -> FrequencySound:
    if not sound:
        return FrequencySound(None, SilentPlayer(), notices.append)
    player = compose.open_returning_player(notices.append)
    room = None
    speaker = compose.open_speaker(plan.context(plan.callsign).standard)
    stack.callback(speaker.close)
    try:
        setting = SETTINGS[radio].on(plan.field.channel_spacing_khz)
        room = RadioRoom(speaker, plan.stations, seed, setting)
    except VoiceError as error:
        notices.append(f"{error} Going on in text.")
    return FrequencySound(room, player, notices.append)


def closing_account(live: LiveSession) -> str:
    """What came of it, and where it is kept."""
    ended = live.session.ended
    assert ended is not None
    lines = [
        f"{live.plan.title}: {ended.reason} after {int(ended.at) // 60}:{int(ended.at) % 60:02d}",
        f"score      {ended.score:.0f} of 100, {ended.accepted} of {ended.calls} calls accepted"
        if ended.calls
        else "score      none: no call was made",
    ]
    if live.session.level is not None:
        lines.append(f"difficulty {live.session.level:g} of 100; the next free flight begins there")
    if live.book.recording_path:
        lines.append(f"recording  {live.book.recording_path}")
    if live.book.logbook_path:
        lines.append(f"logbook    {live.book.logbook_path}, session {live.book.session_id}")
    return "\n".join([*lines, *live.notices])
