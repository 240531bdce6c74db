"""`patternvoice debrief`: the page of one session with its sounds, written beside nothing else."""

from contextlib import closing
from pathlib import Path

from phraseology.standards import standard
from trainer import compose
from trainer.debrief.account import SessionAccount
from trainer.debrief.debriefing import account_of, session_row
from trainer.debrief.page import debrief_page
from trainer.errors import TrainerError
from trainer.logbook.errors import LogbookError
from trainer.logbook.recordings import piece
from trainer.logbook.store import Clip, Logbook, SessionRow
from trainer.paper import sound_uri, write_page
from voices.errors import VoiceError

_SAME_S = 0.05
"""An event and its clip are of the same moment."""


def write_debrief(number: int | None, out: Path | None, *, sound: bool) -> int:
    """Write the page of this session (None: the last), and say where; known errors. Exit status 0."""
    with compose.open_logbook(checked=False) as logbook:
        if logbook.notice:
            print(logbook.notice)
        row = session_row(logbook, number)
        clips = logbook.clips(row.id)
        account = account_of(row, logbook.events(row.id), logbook.track(row.id), clips)
        path = out or Path(f"debrief-{row.id}.html")
        if path.is_dir():
            raise TrainerError(f"{path} is a folder", "name a file, as in --out debrief.html")
        mine = own_sounds(logbook, row, account, clips) if sound else {}
    model = model_sounds(account) if sound else {}
    write_page(path, debrief_page(account, mine, model))
    print(
        f"Written: {path} ({len(account.calls)} calls; {len(mine)} recorded, {len(model)} model calls spoken)"
    )
    return 0


def own_sounds(
    logbook: Logbook, row: SessionRow, account: SessionAccount, clips: list[Clip]
) -> dict[int, str]:
    """What the trainee said, by the call's number, where it was recorded; a line of print if it is lost."""
    path = logbook.recording_path(row)
    if path is None:
        return {}
    found: dict[int, str] = {}
    for call in account.calls:
        own = [each for each in clips if each.station == account.callsign]
        clip = next((each for each in own if abs(each.at - call.at) < _SAME_S), None)
        if clip is None or call.outcome == "missed":
            continue
        try:
            samples, rate = piece(path, clip.start, clip.seconds)
        except LogbookError as error:
            print(f"Without your own calls: {error}")
            return {}
        if len(samples):
            found[call.number] = sound_uri(samples, rate)
    return found


def model_sounds(account: SessionAccount) -> dict[int, str]:
    """The model calls as a pilot says them, by number; none where there is no voice, and a line says so."""
    from trainer.saying import make  # late: it loads the voices

    spoken: dict[str, str] = {}
    try:
        with closing(compose.open_speaker()) as speaker:
            for words in {call.model_call for call in account.calls if call.model_call}:
                said = make(
                    speaker, standard("us_military_tower"), words, account.callsign or "pilot", "clean"
                )
                spoken[words] = sound_uri(said.sound.samples, said.sound.rate)
    except VoiceError as error:
        print(f"Without spoken model calls: {error}")
        return {}
    return {call.number: spoken[call.model_call] for call in account.calls if call.model_call in spoken}
