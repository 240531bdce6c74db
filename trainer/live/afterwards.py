"""What can be done with a flight once it has ended: the page of it, and how it stands among the others."""

from dataclasses import dataclass
from datetime import datetime

from trainer.errors import KNOWN_ERRORS
from trainer.live.session import LiveSession
from trainer.logbook.locations import data_folder, private_folder
from trainer.logbook.progress import Progress, progress
from trainer.logbook.store import Logbook

MOST_DUE = 4
PAGES = "debriefs"
"""The folder of the pages, in the data folder."""


@dataclass(frozen=True)
class LookBack:
    """All sessions, and the titles of what is to be practised now, the most needful first."""

    progress: Progress
    due: tuple[str, ...]


def look_back(logbook: Logbook | None, now: datetime) -> LookBack | str:
    """All sessions in it; a sentence where the logbook, None too, does not give them."""
    from trainer.practice.choosing import NEW_NEED, choose  # late: fsrs takes a while to load
    from trainer.practice.memory import history, memories

    if logbook is None:
        return "There is no logbook of this session."
    try:
        chosen = choose(memories(history(logbook), now), now)
        due = tuple(each.title for each in chosen if each.need > NEW_NEED)
        return LookBack(progress(logbook), due[:MOST_DUE])
    except KNOWN_ERRORS as error:
        return str(error)


def export(live: LiveSession) -> str:
    """Write the page of this session, with sounds if it was recorded; a sentence. From any thread."""
    from trainer.commands.debrief import write_debrief  # late: it loads the templates

    if live.book.logbook_path is None:
        return "There is no logbook of this session to write a page from."
    try:
        path = private_folder(data_folder() / PAGES) / f"debrief-{live.book.session_id}.html"
        write_debrief(live.book.session_id, path, sound=live.book.recording_path is not None)
    except KNOWN_ERRORS as error:
        return str(error)
    return f"Written: {path}"
