"""The subcommands of `patternvoice logbook`: words to values, nothing else."""

import sys
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import App, Parameter

from trainer.commands.help_pages import AFTERWARDS
from trainer.errors import TrainerError

app = App(
    name="logbook",
    help="List, show, export, delete or back up sessions.",
    group=AFTERWARDS,
    group_commands="Commands",
    group_parameters="Options",
)

Number = Annotated[int, Parameter(help="Numbers of sessions, as the list shows them.")]
Since = Annotated[str | None, Parameter(help="From this day on: 2026-03-31.")]
Until = Annotated[str | None, Parameter(help="Up to this day.")]
Drill = Annotated[str | None, Parameter(help="Only with this in the title.")]
Call = Annotated[str | None, Parameter(help='Only with this call or reply: "gear report".')]
Json = Annotated[bool, Parameter(name="--json", help="Print JSON, for scripts.")]


@app.command(name="list")
def list_(
    *sessions: Number,
    since: Since = None,
    until: Until = None,
    drill: Drill = None,
    call: Call = None,
    as_json: Json = False,
) -> int:
    """List sessions, the newest first, with their scores."""
    from trainer.commands.logbook import list_sessions, which

    return list_sessions(which(sessions, since, until, drill, call), as_json=as_json)


@app.command
def show(
    session: Annotated[int | None, Parameter(help="Its number; without it, the last.")] = None,
    *,
    as_json: Json = False,
) -> int:
    """Show one session call by call; without a number, the last."""
    from trainer.commands.logbook import show_session

    return show_session(session, as_json=as_json)


@app.command
def export(
    *sessions: Number,
    since: Since = None,
    until: Until = None,
    drill: Drill = None,
    call: Call = None,
    form: Annotated[
        Literal["json", "csv"], Parameter(name="--format", help="json: all events. csv: a line a call.")
    ] = "json",
    out: Annotated[Path | None, Parameter(help="The file; without it, to the output.")] = None,
) -> int:
    """Write sessions out for other programs."""
    from trainer.commands.logbook import export as export_sessions
    from trainer.commands.logbook import which

    return export_sessions(which(sessions, since, until, drill, call), out, form)


@app.command
def delete(
    *sessions: Number,
    since: Since = None,
    until: Until = None,
    drill: Drill = None,
    call: Call = None,
    everything: Annotated[bool, Parameter(name="--all", help="Every session.")] = False,
    only_recordings: Annotated[bool, Parameter(help="Keep the events.")] = False,
    yes: Annotated[bool, Parameter(help="Do not ask.")] = False,
) -> int:
    """Delete sessions for good, recordings too. It asks first."""
    from trainer.commands.logbook import delete_sessions, which

    def sure(question: str) -> bool:
        if yes:
            return True
        if not sys.stdin.isatty():
            raise TrainerError("nobody is there to ask", "give --yes to delete without a question")
        return input(f"{question} [y/N] ").strip().lower() in ("y", "yes")

    chosen = which(sessions, since, until, drill, call)
    return delete_sessions(chosen, everything=everything, only_recordings=only_recordings, sure=sure)


@app.command
def backup(out: Annotated[Path, Parameter(help="The ZIP file.")]) -> int:
    """Write the logbook and all recordings into one ZIP file."""
    from trainer.commands.logbook import back_up_to

    return back_up_to(out)


@app.command
def recordings(
    keep: Annotated[Literal["off", "wav", "flac"] | None, Parameter(help="Keep them, and how.")] = None,
    *,
    limit_mb: Annotated[int | None, Parameter(help="What all of them may take together, MB.")] = None,
) -> int:
    """Say, or choose, whether the sound of sessions is kept."""
    from trainer.recording_choice import recordings as choose

    return choose(keep, limit_mb)
