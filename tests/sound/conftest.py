"""A sound card made of software: what is played into `micfeed` comes out of the default microphone."""

import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

_PROGRAMS = ("pulseaudio", "pactl", "paplay", "parec")
_REMEDY = "apt-get install libportaudio2 pulseaudio pulseaudio-utils libasound2-plugins alsa-utils"
_MODULES = (
    "module-native-protocol-unix",
    "module-null-sink sink_name=speaker rate=48000 channels=2",
    "module-null-sink sink_name=micfeed rate=48000 channels=1",
    "module-virtual-source source_name=mic master=micfeed.monitor",
)


def _lack(what: str) -> None:
    """Skip, except where the card has been promised, as in CI."""
    if os.environ.get("PATTERNVOICE_SOUND_TEST") == "required":
        pytest.fail(what)
    pytest.skip(what)


@contextmanager
def card() -> Iterator[dict[str, str]]:
    """The environment in which programs find a card of their own, as long as it is there."""
    # Not tmp_path: the path of a socket has little room.
    with tempfile.TemporaryDirectory(prefix="card-", ignore_cleanup_errors=True) as folder:
        environment = os.environ | {"XDG_RUNTIME_DIR": folder}
        environment.pop("PULSE_SERVER", None)
        modules = [word for module in _MODULES for word in ("-L", module)]
        subprocess.run(
            ["pulseaudio", "-n", "--daemonize=yes", "--exit-idle-time=-1", *modules],
            env=environment,
            check=True,
            capture_output=True,
        )
        pid = int(Path(folder, "pulse", "pid").read_text())
        try:
            for default in (["set-default-sink", "speaker"], ["set-default-source", "mic"]):
                subprocess.run(["pactl", *default], env=environment, check=True)
            yield environment
        finally:
            os.kill(pid, signal.SIGTERM)


@pytest.fixture
def sound_card() -> Iterator[dict[str, str]]:
    """A card for one test; skips where the programs for it are missing."""
    missing = [program for program in _PROGRAMS if shutil.which(program) is None]
    if missing:
        _lack(f"no virtual sound card without {', '.join(missing)}: {_REMEDY}")
    try:
        import sounddevice  # noqa: F401
    except OSError:
        _lack(f"no PortAudio: {_REMEDY}")
    with card() as environment:
        yield environment
