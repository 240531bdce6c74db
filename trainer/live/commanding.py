"""Which words to the trainer itself are listened for: none while a call is open."""

from phraseology.commands import Command
from trainer.session.session import Session

PAUSED = (Command.RESUME, Command.SAY_AGAIN, Command.END_SESSION)
FLYING = (Command.PAUSE, Command.SAY_AGAIN, Command.END_SESSION)


def open_commands(session: Session, *, paused: bool) -> tuple[Command, ...]:
    """Those that may be said now. While something is due or owed, or somebody speaks, all words are calls."""
    if session.ended is not None:
        return ()
    if paused:
        return PAUSED
    return () if session.prompt is not None or session.on_air else FLYING
