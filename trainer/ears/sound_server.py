"""What only the sound server of a Linux desktop knows: whether its "microphone" is one.

Where the last microphone is unplugged, PulseAudio (and PipeWire in its place) lets programs record what the
loudspeaker plays, and tells them nothing. PortAudio cannot see it; `pactl` can.
"""

import shutil
import subprocess

_PATIENCE_S = 2.0


def hears_only_the_loudspeaker() -> bool:
    """The default source is the monitor of an output. False where no such server can be asked."""
    if shutil.which("pactl") is None:
        return False
    try:
        asked = subprocess.run(
            ["pactl", "get-default-source"],
            capture_output=True,
            encoding="utf-8",
            errors="replace",
            timeout=_PATIENCE_S,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return asked.stdout.strip().endswith(".monitor")
