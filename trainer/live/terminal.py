"""Whether there is a terminal to draw on, and keeping it clean while a screen is drawn on it."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from trainer.errors import TrainerError


def needs_a_terminal(command: str) -> None:
    """TrainerError where there is none to draw on; a browser that `serve` draws in is one."""
    if "TEXTUAL_DRIVER" not in os.environ and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise TrainerError(
            f"{command} needs a terminal to draw on", "start it in one, without redirecting it"
        )


@contextmanager
def library_noise_to(log: Path) -> Iterator[None]:
    """What anything prints on file descriptor 2 goes to the end of `log`; screens go to the terminal.

    Sound libraries write there at any time, and Textual draws on `sys.__stderr__`. So that is bound
    to a descriptor of its own on the terminal that standard output is on. Enter it before a
    sound library is loaded.
    """
    log.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    sys.stderr.flush()
    noise = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    kept = os.dup(2)
    screen = open(os.dup(1), "w", encoding="utf-8")  # noqa: SIM115 - closed below
    was = sys.__stderr__
    os.dup2(noise, 2)
    os.close(noise)
    sys.__stderr__ = screen  # type: ignore[misc]
    try:
        yield
    finally:
        sys.stderr.flush()
        sys.__stderr__ = was  # type: ignore[misc]
        os.dup2(kept, 2)
        os.close(kept)
        screen.close()
