"""Where the logbook and the recordings lie on this machine."""

import os
from pathlib import Path

import platformdirs

from trainer.logbook.errors import LogbookError

VARIABLE = "PATTERNVOICE_DATA"
"""The environment variable that names another folder, for a class, a memory stick or a test."""


def data_folder() -> Path:
    """The folder of everything that patternvoice keeps, absolute; it need not exist yet."""
    named = os.environ.get(VARIABLE, "")
    if named:
        return Path(os.path.abspath(os.path.expanduser(named)))
    return platformdirs.user_data_path("patternvoice", appauthor=False)


def for_this_user(name: str, flags: int) -> int:
    """As the `opener` of a file that is made: nobody else may read it."""
    return os.open(name, flags, 0o600)


def private_folder(path: Path) -> Path:
    """The folder, made for this user alone if it is not there; LogbookError if that cannot be done."""
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise LogbookError(
            f"the folder {path} cannot be made ({error.strerror})",
            f"name another, or set {VARIABLE} to a folder that may be written",
        ) from error
    return path
