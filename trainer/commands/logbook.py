"""What `patternvoice logbook` and `patternvoice progress` do: lines for people, JSON for scripts."""

import csv
import io
import json
from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any, Literal

from phraseology.calls import CALLS, SHORT_NAMES
from phraseology.replies import REPLIES
from phraseology.suggesting import near
from trainer import compose
from trainer.debrief.account import shown
from trainer.debrief.debriefing import call_title, debrief, session_row
from trainer.debrief.page import clock
from trainer.errors import TrainerError
from trainer.logbook.indexing import ANSWER
from trainer.logbook.keeping import SessionLine, Which, back_up, delete, find, rows_of
from trainer.logbook.locations import data_folder
from trainer.logbook.progress import Progress, progress
from trainer.logbook.store import Logbook
from trainer.paper import write_page
from trainer.school.cells import cell

Say = Callable[[str], None]
MOST_MEANT = 3
WEAKEST = 8
"""So many elements are named in the account of the progress."""


def open_to_read() -> Logbook:
    """The logbook, without a look at every page of it."""
    logbook = compose.open_logbook(checked=False)
    if logbook.notice:
        print(logbook.notice)
    return logbook


def which(
    sessions: Iterable[int], since: str | None, until: str | None, drill: str | None, call: str | None
) -> Which:
    """The choice; TrainerError for a date that is none, and for a call that is none."""
    for day in (since, until):
        if day is not None:
            _date(day)
    return Which(tuple(sessions), since, until, drill, _call(call) if call is not None else None)


def _call(written: str) -> str:
    """The catalogue's name of a call or a reply."""
    name = written.strip().lower().removeprefix(ANSWER).strip().replace(" ", "_").replace("-", "_")
    name = SHORT_NAMES.get(name, name)
    if name in CALLS or name in REPLIES:
        return name
    likely = near(name, [*CALLS, *REPLIES, *SHORT_NAMES], MOST_MEANT)
    meant = " or ".join(f'"{each}"' for each in likely)
    remedy = f"did you mean {meant}?" if likely else f"write one of: {', '.join([*CALLS, *REPLIES])}"
    raise TrainerError(f'there is no call or reply "{written}"', remedy)


def _date(written: str) -> None:
    try:
        date.fromisoformat(written)
    except ValueError:
        raise TrainerError(f'"{written}" is no date', "write year, month and day, as in 2026-03-31") from None


def list_sessions(chosen: Which, *, as_json: bool) -> int:
    """A line for each, the newest first."""
    with open_to_read() as logbook:
        lines = find(logbook, chosen)
    if as_json:
        print(_json([asdict(line) for line in lines], indent=2))
        return 0
    for line in lines:
        _say(_line(line))
    print(f"{len(lines)} session{'' if len(lines) == 1 else 's'}")
    return 0


def _line(line: SessionLine) -> str:
    score = f"{line.score:3.0f}" if line.score is not None else "  -"
    ended = "" if line.ended else ", not ended in order"
    recorded = ", recorded" if line.recorded else ""
    return (
        f"{line.id:>5}  {line.started[:16].replace('T', ' ')}  {score}  {line.accepted:>3} of {line.calls:<3}"
        f"  {line.title}, {line.callsign}{recorded}{ended}"
    )


def _json(value: Any, *, indent: int) -> str:
    """For scripts; half a character, which a spoilt logbook may hold, is "?"."""
    return json.dumps(value, ensure_ascii=False, indent=indent).encode("utf-8", "replace").decode()


def _say(line: str) -> None:
    """Print it without what a terminal would obey: a session may come from elsewhere."""
    print("".join(character if character.isprintable() else "?" for character in line))


def show_session(number: int | None, *, as_json: bool) -> int:
    """Every call of one session (None: the last), with its marks and rules."""
    with open_to_read() as logbook:
        if as_json:
            print(_json(_whole(logbook, session_row(logbook, number).id), indent=2))
            return 0
        account = debrief(logbook, number)
    _say(f"Session {account.session}, {account.started[:16].replace('T', ' ')}: {account.title}")
    _say(f"{account.score:.0f} of 100, {account.accepted} of {len(account.calls)} calls accepted")
    for call in account.calls:
        _say(f"{call.number:>3}  {clock(call.at):>5}  {call.title}: {call.outcome}, {call.score}")
        if call.heard:
            _say(f"            {call.heard}")
        for mark in call.faults:
            _say(f"       {mark.sign} {mark.element}: {mark.rule} ({mark.source})")
    return 0


def _whole(logbook: Logbook, number: int) -> dict[str, Any]:
    (row,) = logbook.sessions("id = ?", (number,))
    return {**asdict(row), "events": logbook.events(number)}


def export(chosen: Which, out: Path | None, form: Literal["json", "csv"]) -> int:
    """All of the sessions with their events as JSON, or a line for each call as CSV; None: to the output."""
    with open_to_read() as logbook:
        rows = rows_of(logbook, chosen)
        if form == "json":
            text = _json([_whole(logbook, row.id) for row in rows], indent=1) + "\n"
        else:
            text = _calls_as_csv(logbook, [row.id for row in rows])
    if out is None:
        print(text, end="")
    else:
        write_page(out, text)
        print(f"Written: {out} ({len(rows)} sessions)")
    return 0


_COLUMNS = "session,started,title,at_s,call,reply,score,accepted,missed,critical,unsure,answer_s"


def _calls_as_csv(logbook: Logbook, numbers: list[int]) -> str:
    paper = io.StringIO()
    writer = csv.writer(paper, lineterminator="\n")
    writer.writerow(_COLUMNS.split(","))
    kept = set(numbers)
    for row in logbook.rows(
        "SELECT session, started, coalesce(json_extract(meta, '$.title'), json_extract(meta, '$.demo'), ''),"
        " at, call, reply, score, accepted, missed, critical, unsure, answer_s"
        " FROM calls JOIN sessions ON sessions.id = session ORDER BY calls.id"
    ):
        if row[0] in kept:
            writer.writerow([cell(value) for value in row])
    return paper.getvalue().encode("utf-8", "replace").decode()


def delete_sessions(
    chosen: Which, *, everything: bool, only_recordings: bool, sure: Callable[[str], bool]
) -> int:
    """Delete what was chosen, after `sure` has been asked; 1 where the answer was no."""
    if chosen.is_all and not everything:
        raise TrainerError("nothing was chosen to delete", "name sessions, a date or a drill, or give --all")
    with open_to_read() as logbook:
        rows = rows_of(logbook, chosen)
        if not rows:
            print("No session matches.")
            return 0
        what = "the recordings of " if only_recordings else ""
        one = "session" if len(rows) == 1 else "sessions"
        if not sure(f"Delete {what}{len(rows)} {one} for good?"):
            print("Nothing was deleted.")
            return 1
        recordings = delete(logbook, rows, only_recordings=only_recordings)
    gone = "" if only_recordings else f"{len(rows)} {one} and "
    print(f"Deleted: {gone}{recordings} recording{'' if recordings == 1 else 's'}.")
    return 0


def back_up_to(out: Path) -> int:
    """The logbook and all recordings as one ZIP file."""
    with open_to_read() as logbook:
        recordings = back_up(logbook, out)
    print(f"Written: {out} (logbook, {recordings} recordings). To restore, unpack it into {data_folder()}")
    return 0


def show_progress(*, as_json: bool) -> int:
    """How the trainee does, the weakest first."""
    with open_to_read() as logbook:
        found = progress(logbook)
    if as_json:
        print(_json(found.as_json(), indent=2))
    else:
        for line in progress_lines(found):
            _say(line)
    return 0


def progress_lines(found: Progress) -> list[str]:
    """The account of the progress, as people read it."""
    if not found.calls:
        return ["No call is in the logbook yet."]
    lines = [
        f"{found.calls} calls in {len(found.sessions)} session(s): {found.accepted} accepted,"
        f" {found.missed} missed, mean score {found.score:.0f}{_trend(found.trend)}",
        f"{found.streak} calls since the last critical error; the longest such row is {found.longest_streak}",
    ]
    if found.answer_s is not None:
        lines.append(f"usual time to the key {found.answer_s:.1f} s")
    lines.append("")
    for each in found.by_call:
        name = call_title(ANSWER + each.reply if each.reply else each.call)
        quick = f", {each.answer_s:.1f} s" if each.answer_s is not None else ""
        missed = f", {each.missed} missed" if each.missed else ""
        figures = f"{each.score:3.0f}  {each.accepted:>4} of {each.calls:<4}"
        lines.append(f"{figures} {name}{missed}{quick}{_trend(each.trend)}")
    weak = [each for each in found.by_element if each.share < 1.0][:WEAKEST]
    if weak:
        lines += ["", "Weakest elements:"]
    for element in weak:
        name = call_title(ANSWER + element.reply if element.reply else element.call)
        lines.append(f"  {shown(element.element)} in {name}: right {element.right} of {element.tries}")
    return lines


def _trend(points: float | None) -> str:
    if points is None or abs(points) < 0.5:
        return ""
    return f", {'up' if points > 0 else 'down'} {abs(points):.0f}"
