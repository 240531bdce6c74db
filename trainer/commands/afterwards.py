"""The commands for after the flight: words to values, nothing else."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

Json = Annotated[bool, Parameter(name="--json", help="Print JSON, for scripts.")]


def debrief(
    session: Annotated[int | None, Parameter(help="Its number in the logbook; without it, the last.")] = None,
    *,
    out: Annotated[Path | None, Parameter(help="The file; without it, debrief-NUMBER.html here.")] = None,
    no_audio: Annotated[bool, Parameter(help="A small page, without any sound.")] = False,
) -> int:
    """Write the debrief of a session as one HTML page."""
    from trainer.commands.debrief import write_debrief

    return write_debrief(session, out, sound=not no_audio)


def progress(*, as_json: Json = False) -> int:
    """Show how your calls do over the sessions."""
    from trainer.commands.logbook import show_progress

    return show_progress(as_json=as_json)


def practise(
    *,
    field: Annotated[str, Parameter(help="A bundled field or a field file.")] = "corbel",
    callsign: Annotated[str | None, Parameter(help='For instance "SABLE 21".')] = None,
    seed: Annotated[int, Parameter(help="The same seed gives the same session.")] = 1,
    typed: Annotated[bool, Parameter(help="No microphone: type the calls.")] = False,
    no_sound: Annotated[bool, Parameter(help="Neither microphone nor speaker.")] = False,
    show: Annotated[bool, Parameter(help="Only say what would be practised, and why.")] = False,
    as_json: Json = False,
) -> int:
    """Practise ten minutes of what is due or weak, and why."""
    from trainer.commands.practise import practise as practise_now
    from trainer.live.start import How
    from trainer.models import chosen_model

    model = None if typed or no_sound or show or as_json else chosen_model(None)
    how = How("quick", seed, model, not no_sound, typed)
    return practise_now(field, callsign, how, only_show=show, as_json=as_json)
