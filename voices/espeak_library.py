"""The espeak-ng library that comes in the package `espeakng_loader`, made ready on Linux.

Only the worker process calls `load`: it changes the process for good.
"""

import ctypes
import os
import shutil
from collections.abc import Iterable
from pathlib import Path

from voices.errors import VoiceError

LONGEST_DATA_PATH = 110
"""Characters. The library ends the whole process somewhere between 120 and 160."""

_RATE = 1  # espeak_PARAMETER of speak_lib.h
_VARIANTS = Path("voices", "!v")


def load(workspace: Path) -> Path:
    """Load the library so that pyttsx3 finds it; gives the folder of its data.

    `workspace` is a folder for the link that a long data path needs. Raises VoiceError if the
    library or its data is not there, for the library itself would end the process.
    """
    try:
        import espeakng_loader  # late: heavy, and not there on every system
    except ImportError as error:
        raise VoiceError("the voice library is not installed", "pip install espeakng-loader") from error
    again = "pip install --force-reinstall espeakng-loader"
    data = short_data_path(Path(espeakng_loader.get_library_path()).with_name("espeak-ng-data"), workspace)
    if not (data / "phontab").is_file():
        raise VoiceError(f"the voice data in {data} is incomplete", again)
    os.environ["ESPEAK_DATA_PATH"] = str(data)
    try:
        # Global: pyttsx3 then gets this library when it asks the linker for libespeak-ng.so.1.
        ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
    except OSError as error:
        raise VoiceError(f"the voice library does not load ({error})", again) from error
    return data


def rest() -> None:
    """Wait until the library's thread has nothing more to do, and so nothing more to tell."""
    ctypes.CDLL("libespeak-ng.so.1").espeak_Synchronize()


def words_a_minute() -> int:
    """The rate of what the library has spoken last."""
    return int(ctypes.CDLL("libespeak-ng.so.1").espeak_GetParameter(_RATE, 1))


def settle() -> None:
    """Wait until the settings of the next job have arrived, and begin the library's noise anew.

    pyttsx3 cancels whatever is under way when a job starts. A setting still under way is then lost: about one
    job in a hundred was spoken in the voice of the job before it.
    """
    rest()
    library = ctypes.CDLL("libespeak-ng.so.1")
    ctypes.CDLL(None).srand(1)
    library.espeak_ng_SetRandSeed(ctypes.c_long(1))


def short_data_path(data: Path, workspace: Path) -> Path:
    """`data` itself, or a link (a copy where links are not to be had) in `workspace` if it is too long."""
    if len(os.fsencode(data)) <= LONGEST_DATA_PATH:
        return data
    short = workspace / "espeak-ng-data"
    if len(os.fsencode(short)) > LONGEST_DATA_PATH:
        raise VoiceError(
            f"the folder for temporary files has too long a name ({workspace})", "set TMPDIR to a shorter one"
        )
    if not short.exists():
        try:
            short.symlink_to(data, target_is_directory=True)
        except OSError:
            shutil.copytree(data, short)
    return short


def names(files: Iterable[str], data: Path) -> list[str]:
    """What `speak` takes: each voice of these files ("gmw/en-US") alone, and with each timbre of the data."""
    variants = sorted(entry.name for entry in (data / _VARIANTS).iterdir() if entry.is_file())
    # Shavian only reads its own alphabet.
    bases = sorted({file.rsplit("/", 1)[-1].lower() for file in files} - {"en-shaw"})
    return bases + [f"{base}+{variant}" for base in bases for variant in variants]
