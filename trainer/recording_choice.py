"""Whether the sound of sessions is kept: asked once by `fly`, a line of the start screen, changed by
`patternvoice logbook recordings`."""

from collections.abc import Callable
from typing import Any, Literal

from trainer.errors import TrainerError
from trainer.logbook.locations import data_folder
from trainer.logbook.recordings import FOLDER, bytes_taken
from trainer.settings import load_settings, save_settings


def recordings(keep: Literal["off", "wav", "flac"] | None, limit_mb: int | None) -> int:
    """Choose whether recordings are kept and how much they may take; say how it is."""
    settings, notice = load_settings()
    if notice:
        print(notice)
    changes: dict[str, Any] = {}
    if keep is not None:
        changes["recordings"] = keep
    if limit_mb is not None:
        if not 1 <= limit_mb <= 1_000_000:
            raise TrainerError(f"{limit_mb} MB is no limit", "write 1 to 1,000,000")
        changes["recordings_mb"] = limit_mb
    if changes:
        settings = settings.model_copy(update=changes)
        save_settings(settings)
    taken = bytes_taken(data_folder() / FOLDER) / 1e6
    kept = {None: "not chosen yet: none are kept", "off": "none are kept"}.get(
        settings.recordings, f"kept as {str(settings.recordings).upper()}"
    )
    print(f"Recordings: {kept}; {taken:.0f} of {settings.recordings_mb} MB taken.")
    return 0


def ask_about_recordings(ask: Callable[[str], str]) -> None:
    """Once, before the first session with sound: whether recordings are to be kept."""
    settings, _ = load_settings()
    if settings.recordings is not None:
        return
    answer = ask("Keep recordings of your sessions on this machine, for the debrief? [y/N] ").strip().lower()
    save_settings(settings.model_copy(update={"recordings": "flac" if answer in ("y", "yes") else "off"}))
    print("Change it at any time: patternvoice logbook recordings")
