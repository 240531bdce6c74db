"""Where the logbook and the recordings lie on this machine."""

import os
from pathlib import Path

import platformdirs

VARIABLE = "PATTERNVOICE_DATA"
"""The environment variable that names another folder, for a class, a memory stick or a test."""


def data_folder() -> Path:
    """The folder of everything that patternvoice keeps, absolute; it need not exist yet."""
    named = os.environ.get(VARIABLE, "")
    if named:
        return Path(os.path.abspath(os.path.expanduser(named)))
    return platformdirs.user_data_path("patternvoice", appauthor=False)
