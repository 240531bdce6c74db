"""The `fly` command: builds everything, runs the screen, and gives the closing account."""

import sys
from collections import deque
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

from drills.check import load_drill, load_field
from drills.drill import Pace
from phraseology.elements import Callsign
from trainer import compose, microphone_check
from trainer.ears.errors import MissingWordsError
from trainer.ears.microphone import Microphone
from trainer.ears.recogniser import SAMPLE_RATE, Recogniser
from trainer.errors import TrainerError
from trainer.live.book import FlightBook
from trainer.live.hearing import Hearing
from trainer.live.session import LiveSession
from trainer.live.sounds import FrequencySound
from trainer.live.terminal import library_noise_to
from trainer.logbook.errors import LogbookError
from trainer.logbook.locations import data_folder
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Logbook
from trainer.radio_room import RadioRoom
from trainer.session.plan import SessionPlan
from voices.errors import VoiceError
from voices.playback import Player, SilentPlayer

DEFAULT_CALLSIGN = "SABLE 21"
NO_SOUND = "started without sound"
TYPED = "started to be typed"


def fly(
    drill: str | None,
    callsign: str | None,
    field: str,
    runway: str,
    pace: Pace | None,
    seed: int,
    model: Path | None,
    sound: bool,
    typed: bool = False,
) -> int:
    """Fly a drill, or free flight without one, on this terminal. Returns the exit status.

    Without `sound` nothing is played, heard or recorded; `typed` needs no microphone. Known errors
    (`trainer.errors.KNOWN_ERRORS`) for a bad drill, field, callsign or model, and for no microphone.
    """
    plan, drill_pace = plan_of(drill, callsign, field, runway, seed)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise TrainerError("fly needs a terminal to draw on", "start it in one, without redirecting it")
    notices: deque[str] = deque()
    with ExitStack() as stack:
        logbook = stack.enter_context(compose.open_logbook())
        if logbook.notice:
            notices.append(logbook.notice)
        stack.enter_context(library_noise_to(data_folder() / "sound.log"))
        microphone, recogniser, gain_db = None, None, 0.0
        lack = TYPED if sound else NO_SOUND
        if sound and not typed:
            microphone, recogniser = _open_ears(plan, model, notices)
            gain_db = microphone_gain(notices)
        sounds = _open_sounds(stack, plan, seed, sound, notices)
        book = _open_book(logbook, plan, pace or drill_pace, seed, sound, notices)
        live = LiveSession(plan, pace or drill_pace, sounds, book, notices, lack)
        stack.callback(live.close)
        status = _run(live, microphone, recogniser, gain_db)
    print(closing_account(live))
    return status


def _run(
    live: LiveSession, microphone: Microphone | None, recogniser: Recogniser | None, gain_db: float
) -> int:
    from trainer.screens.app import FlightApp  # late: the screen's library takes a while to load

    app = FlightApp(live)
    if microphone is not None and recogniser is not None:
        live.hearing = Hearing(
            microphone, recogniser, lambda: live.situation, lambda: live.muted, app.post_ears, gain_db
        )
    app.run()
    return app.return_code or 0


def plan_of(
    drill: str | None, callsign: str | None, field: str, runway: str, seed: int
) -> tuple[SessionPlan, Pace]:
    """The plan and its own pace; known errors for what cannot be flown."""
    if drill is None:
        name = str(Callsign.of(callsign or DEFAULT_CALLSIGN))
        place = load_field(field)
        place.runway(runway)
        return SessionPlan.free_flight(place, runway, name, seed), "real"
    briefed = load_drill(drill)
    own = str(Callsign.of(callsign)) if callsign else None
    taken = [other.callsign for other in briefed.traffic]
    if own in taken:
        raise TrainerError(f"{own} is another aircraft of this drill", "choose another callsign")
    return SessionPlan.of_drill(briefed, load_field(briefed.field), own), briefed.pace


def _open_book(
    logbook: Logbook, plan: SessionPlan, pace: Pace, seed: int, sound: bool, notices: deque[str]
) -> FlightBook:
    started = datetime.now().astimezone()
    meta = {
        "title": plan.title, "field": plan.field.field, "runway": plan.runway, "callsign": plan.callsign,
        "aircraft": plan.profile.name, "pace": pace, "seed": seed,
    }  # fmt: skip
    session_id = logbook.start_session(meta, started.isoformat(timespec="seconds"))
    recording = _open_recording(started, notices) if sound else None
    return FlightBook(logbook, session_id, recording, notices.append)


def _open_recording(started: datetime, notices: deque[str]) -> SessionRecording | None:
    folder = data_folder() / "recordings"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        return SessionRecording(folder / f"flight-{started:%Y%m%d-%H%M%S-%f}.wav", SAMPLE_RATE)
    except LogbookError as error:
        notices.append(str(error))
    except OSError as error:
        notices.append(f"Nothing is recorded: the folder {folder} cannot be made ({error.strerror}).")
    return None


def _open_ears(plan: SessionPlan, model: Path | None, notices: deque[str]) -> tuple[Microphone, Recogniser]:
    """Microphone and recogniser; a known error for a bad model, and for no microphone."""
    recogniser = compose.open_ears(model)
    names, words = compose.unheard_words(plan, recogniser)
    if plan.callsign.split()[0].lower() in names:
        raise MissingWordsError(names, recogniser.name)
    if names or words:
        notices.append(f"This recogniser cannot hear: {', '.join([*names, *words])}. Type calls with these.")
    microphone, lack = compose.open_microphone()
    if microphone is None:
        raise TrainerError(str(lack), "or type your calls with patternvoice fly --typed")
    return microphone, recogniser


def microphone_gain(notices: deque[str]) -> float:
    """What the microphone is raised by, in dB, as `doctor` measured it; the trainee is told what matters."""
    found, notice = microphone_check.kept()
    if notice:
        notices.append(notice)
    return found.gain_db if found else 0.0


def _open_sounds(
    stack: ExitStack, plan: SessionPlan, seed: int, sound: bool, notices: deque[str]
) -> FrequencySound:
    if not sound:
        return FrequencySound(None, SilentPlayer(), notices.append)
    player: Player
    player, lack = compose.open_player()
    if lack:
        notices.append(lack)
    room = None
    speaker = compose.open_speaker()
    stack.callback(speaker.close)
    try:
        room = RadioRoom(speaker, [plan.callsign, *(other.callsign for other in plan.traffic)], seed)
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
    if live.book.recording_path:
        lines.append(f"recording  {live.book.recording_path}")
    if live.book.logbook_path:
        lines.append(f"logbook    {live.book.logbook_path}, session {live.book.session_id}")
    return "\n".join([*lines, *live.notices])
