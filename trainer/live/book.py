"""What is kept of one session: its events in the logbook, its sound in a recording."""

from collections.abc import Callable
from pathlib import Path

from trainer.ears.recogniser import Block
from trainer.logbook.errors import LogbookError
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Logbook
from trainer.session.events import Event, SessionEnded


class FlightBook:
    """Either may be None. One that fails is told to `notify` once, and the session goes on without it."""

    def __init__(
        self,
        logbook: Logbook | None,
        session_id: int,
        recording: SessionRecording | None,
        notify: Callable[[str], None],
    ) -> None:
        self.session_id = session_id
        self._logbook = logbook
        self._recording = recording
        self._recorded = recording.path if recording else None
        self._notify = notify

    @property
    def logbook_path(self) -> Path | None:
        """The logbook, if it holds the whole session so far."""
        return self._logbook.path if self._logbook else None

    @property
    def recording_path(self) -> Path | None:
        return self._recorded

    def write(self, event: Event) -> None:
        """Keep an event: it is on the disk when this returns."""
        if self._logbook is None:
            return
        try:
            self._logbook.write(self.session_id, event.as_json())
            if isinstance(event, SessionEnded):
                recorded = str(self._recorded) if self._recorded else None
                self._logbook.finish(self.session_id, event.as_json(), recorded)
        except LogbookError as error:
            self._logbook = None
            self._notify(f"{error} Going on without the logbook.")

    def record(self, samples: Block, at: float) -> None:
        """Keep what sounded from session second `at` on."""
        if self._recording is None:
            return
        try:
            self._recording.append(samples, at)
        except LogbookError as error:
            self._recording = None
            self._notify(str(error))

    def close(self) -> None:
        """End the recording; the logbook belongs to whoever opened it."""
        if self._recording is not None:
            try:
                self._recording.close()
            except LogbookError as error:
                self._notify(str(error))
            self._recording = None
