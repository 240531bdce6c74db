"""The folder in which this process keeps what its engines need for a moment: sounds, a graph to be loaded.

It is deleted at the end. Who is killed leaves it behind, and the next process deletes it: each folder is
locked by its own process, and the system lets go of that lock whatever that one dies of. Windows has no such
lock, so there it stays.
"""

import atexit
import os
import shutil
import tempfile
from functools import cache
from pathlib import Path

from trainer.errors import TrainerError

PREFIX = "patternvoice-scratch-"
"""What begins like this is deleted: nothing else may have such a name."""


@cache
def scratch_folder() -> Path:
    """This process's own folder, made at the first use.

    TrainerError where there is no room for temporary files.
    """
    try:
        _sweep(Path(tempfile.gettempdir()))
        path = _locked_folder()
    except OSError as error:
        raise TrainerError(
            f"the folder for temporary files cannot be used ({error.strerror})",
            "make room there, or set TMPDIR to another",
        ) from error
    atexit.register(shutil.rmtree, path, ignore_errors=True)
    return path


def _locked_folder() -> Path:
    while True:
        path = Path(tempfile.mkdtemp(prefix=PREFIX))
        _lock(path, wait=True)
        if path.exists():  # else another process swept it away before it was locked
            return path


def _sweep(parent: Path) -> None:
    """Delete the folders of those who are dead."""
    for path in parent.glob(f"{PREFIX}*"):
        try:
            lock = _lock(path, wait=False)
        except OSError:  # it is in use, or another user's
            continue
        if lock is not None:
            shutil.rmtree(path, ignore_errors=True)
            os.close(lock)


def _lock(path: Path, *, wait: bool) -> int | None:
    """The descriptor that locks this folder, None where the system has no such locks; OSError: it is held."""
    try:
        import fcntl
    except ImportError:
        return None
    held = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except OSError:
        os.close(held)
        raise
    return held
