"""What is wrong in a folder in which a flight was killed, as who starts again finds it: sentences, none if all is well."""

import re
import time
import wave
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from phraseology.heard import HeardBy
from tests.trust.scripted import command, is_there
from trainer.debrief.debriefing import debrief
from trainer.logbook.progress import progress
from trainer.logbook.store import Clip, Logbook, SessionRow

GONE_S = 60.0
"""So long a worker may take to notice that it is alone, on a busy machine."""
SAME_S = 0.05
"""A call and its clip are of the same moment, as for the debrief page."""
LEAST_RMS, LEAST_S = 100.0, 1.0
"""Of a spoken call: it is no silence and no snippet."""


def processes_left(workers: Iterable[int]) -> list[str]:
    """Those that are still there after a while."""
    until = time.monotonic() + GONE_S
    while time.monotonic() < until and any(map(is_there, workers)):
        time.sleep(0.05)
    return [f"process {pid} is left" for pid in workers if is_there(pid)]


def logbook_faults(data: Path, seen: Iterable[tuple[int, str]]) -> tuple[list[str], int, int]:
    """What is wrong with the logbook, of which so much had been `seen`; calls of the last session, those spoken."""
    with Logbook.open(data) as logbook:
        faults = [logbook.notice] if logbook.notice else []
        kept = dict(logbook.rows("SELECT id, body FROM events"))
        faults += [f"event {number} is lost" for number, body in seen if kept.get(number) != body]
        for number, body, marks, rows in logbook.rows(_CALLS):
            if body != marks or rows != 1:
                faults.append(f"call {number} has {rows} rows and {marks} of {body} marks")
        total, calls, spoken = 0, 0, 0
        for row in logbook.sessions():
            events = logbook.events(row.id)
            own = [each for each in events if each["event"] in ("TraineeSpoke", "CallMissed")]
            by_voice = [each["at"] for each in own if each.get("heard_by", TYPED) != TYPED]
            calls, spoken = len(own), len(by_voice)
            total += calls
            if (told := len(debrief(logbook, row.id).calls)) != calls:
                faults.append(f"{told} of {calls} calls of session {row.id} in the debrief")
            faults += recording_faults(logbook, row, by_voice)
        if (counted := progress(logbook).calls) != total:
            faults.append(f"{counted} of {total} calls in the progress")
    return faults, calls, spoken


TYPED = HeardBy.TYPED.value
_CALLS = """
    SELECT id, CASE event WHEN 'CallMissed' THEN 0 ELSE json_array_length(body, '$.elements') END,
        (SELECT count(*) FROM marks WHERE call_id = events.id), (SELECT count(*) FROM calls WHERE id = events.id)
    FROM events WHERE event IN ('TraineeSpoke', 'CallMissed')
"""


def recording_faults(logbook: Logbook, row: SessionRow, spoken_at: Iterable[float]) -> Iterator[str]:
    """The recording plays, all that is said to lie in it does, and each spoken call is there."""
    clips, path = logbook.clips(row.id), logbook.recording_path(row)
    if path is None:
        if row.recording or clips or list(spoken_at):
            yield f"the recording of session {row.id} is lost"
        return
    try:
        with wave.open(str(path), "rb") as sound:
            frames, rate = sound.getnframes(), sound.getframerate()
            samples = np.frombuffer(sound.readframes(frames), "<i2")
    except (wave.Error, EOFError) as error:
        yield f"{path.name} does not play ({error})"
        return
    if len(samples) != frames:
        yield f"{path.name} has {len(samples)} of {frames} samples"
    for clip in clips:
        if round((clip.start + clip.seconds) * rate) > len(samples):
            yield f"{path.name} ends before the clip of {clip.at:.2f} s does"
    callsign = row.meta["callsign"]
    for at in spoken_at:
        own = next((each for each in clips if each.station == callsign and abs(each.at - at) < SAME_S), None)
        if own is None or not _is_speech(own, samples, rate):
            yield f"the sound of the call of {at:.2f} s is {'lost' if own is None else 'no speech'}"


def _is_speech(clip: Clip, samples: np.ndarray, rate: int) -> bool:
    piece = samples[round(clip.start * rate) : round((clip.start + clip.seconds) * rate)].astype(float)
    return len(piece) >= LEAST_S * rate and float(np.sqrt(np.mean(piece**2))) > LEAST_RMS


def command_faults(folder: Path, calls: int, spoken: int, *, sound: bool) -> Iterator[str]:
    """`logbook list` shows the last session and `debrief` makes its page; with `sound` it holds the spoken calls,
    and what the dead left among the temporary files is gone then."""
    with Logbook.open(folder / "data") as logbook:
        sessions = [row.id for row in logbook.sessions()]
    status, printed = command(folder, "logbook", "list")
    if status or not all(re.search(rf"^\s*{number}\b", printed, re.MULTILINE) for number in sessions):
        yield f"logbook list ended with {status}: {printed}"
    if not sessions:
        return
    page = folder / "debrief.html"
    status, printed = command(
        folder, "debrief", str(sessions[-1]), "--out", str(page), *([] if sound else ["--no-audio"])
    )
    told = f"({calls} calls; {spoken if sound else 0} recorded"
    if status or told not in printed or not page.stat().st_size:
        yield f"debrief ended with {status}, {told} was expected: {printed}"
    if sound:
        yield from (f"{each.name} is left" for each in (folder / "tmp").iterdir())
