"""What is kept of one session: its events, where was flown, and its sound in a recording."""

from collections import deque
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from drills.drill import Pace
from trainer.drawing.charting import chart_of
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.logbook.errors import LogbookError
from trainer.logbook.locations import data_folder, private_folder
from trainer.logbook.recording import SessionRecording
from trainer.logbook.recordings import FOLDER, as_flac, bytes_taken
from trainer.logbook.store import Clip, Logbook, TrackPoint
from trainer.session.events import Event, SessionEnded
from trainer.session.plan import SessionPlan
from trainer.settings import Settings, load_settings

TRACK_EVERY_S = 3.0
"""Session seconds between two places of the track."""


class FlightBook:
    """Either may be None. One that fails is told to `notify` once, and the session goes on without it.

    `small`: a recording is made a FLAC file when it is closed.
    """

    def __init__(
        self,
        logbook: Logbook | None,
        session_id: int,
        recording: SessionRecording | None,
        notify: Callable[[str], None],
        *,
        small: bool = False,
    ) -> None:
        self.session_id = session_id
        self._logbook = logbook
        self._recording = recording
        self._recorded = recording.path if recording else None
        self._notify = notify
        self._small = small
        self._tracked_at = -TRACK_EVERY_S
        self._in_logbook(lambda book: book.recording_is(session_id, self._recorded))

    @property
    def logbook_path(self) -> Path | None:
        """The logbook, if it holds the whole session so far."""
        return self._logbook.path if self._logbook else None

    @property
    def recording_path(self) -> Path | None:
        return self._recorded

    def write(self, event: Event) -> None:
        """Keep an event: it is on the disk when this returns."""
        self._in_logbook(lambda book: book.write(self.session_id, event.as_json()))
        if isinstance(event, SessionEnded):
            self._in_logbook(lambda book: book.finish(self.session_id, event.as_json(), self._recorded))

    def wants_track(self, at: float) -> bool:
        """It is time for another place of the track."""
        return at - self._tracked_at >= TRACK_EVERY_S

    def flown(self, point: TrackPoint) -> None:
        """Keep where the trainee is."""
        self._tracked_at = point.at
        self._in_logbook(lambda book: book.flown(self.session_id, point))

    def record(self, samples: Block, at: float, station: str, event_at: float | None = None) -> None:
        """Keep what a station said from session second `at` on; its event is of `event_at`, or of `at`."""
        if self._recording is None:
            return
        try:
            start = self._recording.append(samples, at)
        except LogbookError as error:
            self._recording = None
            self._notify(str(error))
            return
        if start is not None:
            clip = Clip(at if event_at is None else event_at, station, start, len(samples) / SAMPLE_RATE)
            self._in_logbook(lambda book: book.recorded(self.session_id, clip))

    def close(self) -> None:
        """End the recording; the logbook belongs to whoever opened it."""
        if self._recording is None:
            return
        try:
            self._recording.close()
            if self._small:
                self._recorded = as_flac(self._recording.path)
                self._in_logbook(lambda book: book.recording_is(self.session_id, self._recorded))
                if self._logbook is not None:  # it names the FLAC now, whatever happens
                    with suppress(OSError):
                        self._recording.path.unlink()
        except LogbookError as error:
            self._notify(str(error))
        self._recording = None

    @property
    def logbook(self) -> Logbook | None:
        """To be read from the thread that writes it; None where it holds not all of the session."""
        return self._logbook

    def _in_logbook(self, keep: Callable[[Logbook], None]) -> None:
        if self._logbook is None:
            return
        try:
            keep(self._logbook)
        except LogbookError as error:
            self._logbook = None
            self._notify(f"{error} Going on without the logbook.")


def open_book(
    logbook: Logbook, plan: SessionPlan, pace: Pace, seed: int, sound: bool, notices: deque[str]
) -> FlightBook:
    """A new session in the logbook, and its recording where there is `sound` and the settings want one."""
    started = datetime.now().astimezone()
    meta = {
        "title": plan.title, "field": plan.field.field, "runway": plan.runway, "callsign": plan.callsign,
        "aircraft": plan.profile.name, "pace": pace, "seed": seed, "chart": chart_of(plan.pattern),
    }  # fmt: skip
    session_id = logbook.start_session(meta, started.isoformat(timespec="seconds"))
    settings, _ = load_settings()
    recording = _open_recording(started, settings, notices) if sound else None
    return FlightBook(logbook, session_id, recording, notices.append, small=settings.recordings == "flac")


def _open_recording(started: datetime, settings: Settings, notices: deque[str]) -> SessionRecording | None:
    if settings.recordings in (None, "off"):
        return None
    folder = data_folder() / FOLDER
    try:
        private_folder(folder)
        left = settings.recordings_mb * 1_000_000 - bytes_taken(folder)
        path = folder / f"flight-{started:%Y%m%d-%H%M%S-%f}.wav"
        return SessionRecording(path, SAMPLE_RATE, left)
    except LogbookError as error:
        notices.append(f"Nothing is recorded: {error}")
    return None
