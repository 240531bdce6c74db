"""What the user has chosen once and for all, in a small file of the data folder."""

import json
import os
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from trainer.errors import TrainerError
from trainer.logbook.locations import data_folder, for_this_user, private_folder

Recordings = Literal["off", "wav", "flac"]


class Choice(BaseModel):
    """What was chosen on the start screen. `drill` None is free flight; names or paths of drill and field.

    `standard` None: the field's own. `pace` None: the drill's own. `ears`: spoken, typed with the tower
    heard, or typed without any sound.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    drill: str | None = None
    field: str = "corbel"
    standard: str | None = None
    callsign: str = "SABLE 21"
    aircraft: str = "turboprop trainer"
    pace: Literal["real", "quick", "patient"] | None = None
    ears: Literal["spoken", "typed", "silent"] = "spoken"


class Settings(BaseModel):
    """`model`: to hear with, a name in the folder of models or an absolute path; None: the built-in one.

    `difficulty`: where the last free flight ended, 0 to 100; None: none was flown. `last`: what was chosen
    on the start screen; None: nothing. `recordings`: whether and how the sound of a session is kept; None:
    not asked yet, and nothing is kept. `recordings_mb`: what all of them may take together.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    model: str | None = None
    difficulty: float | None = Field(default=None, ge=0, le=100)
    last: Choice | None = None
    recordings: Recordings | None = None
    recordings_mb: int = Field(default=2000, ge=1, le=1_000_000)


def settings_file() -> Path:
    return data_folder() / "settings.json"


def load_settings() -> tuple[Settings, str | None]:
    """The settings; where the file cannot be used, the usual ones and a sentence that says so."""
    path = settings_file()
    try:
        return Settings.model_validate_json(path.read_bytes()), None
    except (FileNotFoundError, NotADirectoryError):
        return Settings(), None
    except OSError as error:
        problem = f"cannot be read ({error.strerror})"
    except ValidationError as error:
        first = error.errors()[0]
        problem = f"is broken ({'.'.join(map(str, first['loc'])) or 'the file'}: {first['msg']})"
    return Settings(), f"{path} {problem}: mend or delete it; going on with the usual settings."


def save_settings(settings: Settings) -> None:
    """TrainerError if they cannot be written."""
    write_whole("settings.json", json.dumps(settings.model_dump(), indent=2) + "\n")


def write_whole(name: str, text: str) -> None:
    """A file of the data folder, written whole or not at all; TrainerError if it cannot be."""
    path = private_folder(data_folder()) / name
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with open(part, "w", encoding="utf-8", opener=for_this_user) as file:
            file.write(text)
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise TrainerError(
            f"{path} cannot be written ({error.strerror})", "make room there, or see to its permissions"
        ) from error
