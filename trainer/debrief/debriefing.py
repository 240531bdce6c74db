"""The account of a session out of the logbook: its events as the values of `trainer/debrief/account.py`.

Each call of the trainee stands with what the tower had said, what it said to the call, and why.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from phraseology.assess import Verdict
from phraseology.assessment import COST
from phraseology.calls import CALLS
from phraseology.elements import Severity
from phraseology.replies import REPLIES
from trainer.debrief.account import CallAccount, Chart, Mark, Outcome, SessionAccount, Transmission, shown
from trainer.debrief.kept_session import check_session
from trainer.logbook.errors import LogbookError
from trainer.logbook.indexing import ANSWER
from trainer.logbook.store import Clip, Logbook, SessionRow, TrackPoint

MOST_ADVICE = 3
"""So many points to work on are named for a session: what a person keeps in mind."""
_WORDS_S, _KEY_S = 0.35, 0.4
"""About 170 words a minute and the key (our own choice), where the length was not recorded."""

MISSED_COST = 100
"""Points of a call that was not made: all of it."""
NOT_MADE = ""

Event = Mapping[str, Any]


@dataclass(frozen=True)
class Weakness:
    """An element (or `NOT_MADE`) of the call of this title, how often it was wrong, and what that cost."""

    title: str
    element: str
    times: int
    points: int


def call_title(name: str) -> str:
    """A person's words for a call or an answer, by the name in an event."""
    if name in CALLS:
        return CALLS[name].title
    reply = name.removeprefix(ANSWER)
    return f"Answer: {REPLIES[reply].title}" if name.startswith(ANSWER) and reply in REPLIES else shown(name)


def session_row(logbook: Logbook, number: int | None) -> SessionRow:
    """The session of this number, None: the last; `LogbookError` if there is none."""
    if number is None:
        newest = logbook.sessions("id = (SELECT max(id) FROM sessions)")
        if not newest:
            raise LogbookError("the logbook is empty", "fly a session first, or see the demo")
        return newest[0]
    found = logbook.sessions("id = ?", (number,))
    if not found:
        raise LogbookError(f"the logbook has no session {number}", "see patternvoice logbook list")
    return found[0]


def debrief(logbook: Logbook, number: int | None = None) -> SessionAccount:
    """The account of this session, None: of the last; `LogbookError` if there is none."""
    row = session_row(logbook, number)
    return account_of(row, logbook.events(row.id), logbook.track(row.id), logbook.clips(row.id))


def account_of(
    row: SessionRow, events: Sequence[Event], track: Sequence[TrackPoint] = (), clips: Sequence[Clip] = ()
) -> SessionAccount:
    """The account of a session from what the logbook holds of it; `LogbookError` if that cannot be read."""
    try:
        check_session(row.meta, row.summary, events)
    except ValueError as error:
        raise LogbookError(
            f"session {row.id} is not as patternvoice writes it ({error})", "the others are not touched by it"
        ) from None
    meta = row.meta
    callsign = str(meta.get("callsign", ""))
    lengths = {(clip.at, clip.station): clip.seconds for clip in clips}
    calls = tuple(_calls(events, callsign, track))
    last = events[-1]["at"] if events else 0.0
    scores = [call.score for call in calls]
    return SessionAccount(
        session=row.id,
        started=row.started,
        title=str(meta.get("title") or meta.get("demo") or "Session"),
        field=str(meta.get("field", "")),
        runway=str(meta.get("runway", "")),
        callsign=callsign,
        pace=str(meta.get("pace", "")),
        ended=row.summary.get("at") if row.summary else None,
        reason=row.summary["reason"] if row.summary else "it did not end in order",
        score=sum(scores) / len(scores) if scores else 0.0,
        accepted=sum(call.outcome == "accepted" for call in calls),
        calls=calls,
        on_air=tuple(_on_air(events, callsign, lengths)),
        work_on=work_on(calls),
        verdict=str((row.summary or {}).get("verdict") or ""),
        happened=tuple(_happened(events)),
        chart=_chart(meta.get("chart"), track, last),
    )


def _calls(events: Sequence[Event], callsign: str, track: Sequence[TrackPoint]) -> Iterable[CallAccount]:
    asked: Event | None = None
    legs = _legs(events, callsign)
    number = 0
    for index, event in enumerate(events):
        if event["event"] == "TowerSpoke" and event["to"] == callsign:
            asked = event
        if event["event"] not in ("TraineeSpoke", "CallMissed") or "call" not in event:
            continue
        number += 1
        name = event["call"]
        is_answer = name.startswith(ANSWER)
        after = _answered(events[index + 1 :], callsign)
        marks = tuple(_mark(each) for each in event.get("elements", ()))
        missed = event["event"] == "CallMissed"
        reasons = tuple(after["reasons"]) if after else ()
        note = after.get("note", "") if after else ""
        yield CallAccount(
            number=number,
            at=event["at"],
            call=name,
            reply=name.removeprefix(ANSWER) if is_answer else "",
            title=call_title(name),
            outcome=_outcome(event, marks),
            score=0 if missed else event["score"],
            heard=event.get("heard", ""),
            model_call=event.get("model_call", "") or (_due(events[:index], name) if missed else ""),
            marks=marks,
            asked=asked["words"] if is_answer and asked else "",
            answered=after["words"] if after else "",
            reasons=tuple(reason for reason in reasons if reason != note),
            note=note,
            advice=_advice(name, marks, missed=missed),
            consequence=event.get("consequence", ""),
            answer_s=event.get("answer_s"),
            leg=next((leg for at, leg in reversed(legs) if at <= event["at"]), ""),
            place=_place(track, event["at"]),
        )


def _happened(events: Iterable[Event]) -> Iterable[tuple[float, str]]:
    for event in events:
        if event["event"] == "Happened":
            yield event["at"], " ".join(part for part in (event["words"], event.get("note", "")) if part)
        if event["event"] == "LightSignal":
            yield event["at"], f"Light signal {shown(event['signal'])}: {event['meaning']}"


def _answered(later: Iterable[Event], callsign: str) -> Event | None:
    """What the tower said to this call, before the next one."""
    for event in later:
        if event["event"] in ("TraineeSpoke", "CallMissed"):
            return None
        if event["event"] == "TowerSpoke" and event["to"] == callsign:
            return event
    return None


def _due(before: Sequence[Event], call: str) -> str:
    due = (each for each in reversed(before) if each["event"] == "CallDue" and each["call"] == call)
    return next((str(each["model_call"]) for each in due), "")


def _outcome(event: Event, marks: Iterable[Mark]) -> Outcome:
    if event["event"] == "CallMissed":
        return "missed"
    if any(mark.verdict is Verdict.UNSURE for mark in marks):
        return "not clear"
    return "accepted" if event["accepted"] else "not accepted"


def _mark(judged: Mapping[str, str]) -> Mark:
    rule, source = split_rule(judged.get("rule", ""))
    return Mark(
        element=shown(judged["element"]),
        verdict=Verdict(judged["verdict"]),
        severity=Severity(judged["severity"]),
        expected=shown(judged.get("expected", "")),
        heard=shown(judged.get("heard", "")),
        rule=rule,
        source=source,
    )


def split_rule(written: str) -> tuple[str, str]:
    """A rule and its source, of "the rule (source)" as an event has it; the source may hold brackets."""
    depth = 0
    for place in range(len(written) - 1, -1, -1):
        depth += (written[place] == ")") - (written[place] == "(")
        if depth == 0:
            if place and written.endswith(")"):
                return written[:place].rstrip(), written[place + 1 : -1]
            break
    return written, ""


def _advice(name: str, marks: Sequence[Mark], *, missed: bool) -> tuple[str, ...]:
    """What to do otherwise next time, the worst first."""
    if missed:
        return (f"When: {CALLS[name].when}",) if name in CALLS else ("Answer every message that is for you.",)
    return tuple(
        _better(mark) for mark in sorted(marks, key=lambda mark: -COST[mark.severity]) if _costs(mark)
    )


def _costs(mark: Mark) -> bool:
    return mark.verdict not in (Verdict.RIGHT, Verdict.UNSURE)


def _better(mark: Mark) -> str:
    match mark.verdict:
        case Verdict.MISSING:
            return (
                f"Say the {mark.element}: {mark.expected}." if mark.expected else f"Say the {mark.element}."
            )
        case Verdict.WRONG if mark.expected:
            return f"The {mark.element} is {mark.expected}, you said {mark.heard}."
        case Verdict.WRONG | Verdict.EXTRA:
            return f"Leave out {mark.heard or mark.element}."
        case Verdict.ORDER:
            return f"Say the {mark.element} in its place."
        case _:
            return f"Say the {mark.element} in the standard words."


def work_on(calls: Iterable[CallAccount]) -> tuple[str, ...]:
    """What cost most over the session, most first, at most `MOST_ADVICE` lines."""
    faults: list[tuple[str, str, int]] = []
    for call in calls:
        if call.outcome == "missed":
            faults.append((call.title, NOT_MADE, MISSED_COST))
        faults += [(call.title, mark.element, COST[mark.severity]) for mark in call.marks if _costs(mark)]
    return tuple(
        f"{weak.title}: {weak.element or 'not made'} ({_times(weak.times)}, {weak.points} points)"
        for weak in dearest(faults)
    )


def dearest(faults: Iterable[tuple[str, str, int]]) -> list[Weakness]:
    """Title of a call, element (or `NOT_MADE`) and points of each fault; what cost most, most first, at most
    `MOST_ADVICE`."""
    cost: Counter[tuple[str, str]] = Counter()
    times: Counter[tuple[str, str]] = Counter()
    for title, element, points in faults:
        cost[title, element] += points
        times[title, element] += 1
    most = cost.most_common(MOST_ADVICE)
    return [Weakness(*what, times[what], points) for what, points in most if points]


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _legs(events: Iterable[Event], callsign: str) -> list[tuple[float, str]]:
    return [
        (event["at"], shown(event["leg"]))
        for event in events
        if event["event"] == "LegEntered" and event["aircraft"] == callsign
    ]


def _place(track: Sequence[TrackPoint], at: float) -> tuple[float, float] | None:
    """Where he was then, between the two places of the track around it."""
    before = next((point for point in reversed(track) if point.at <= at), None)
    after = next((point for point in track if point.at >= at), None)
    if before is None or after is None:
        only = before or after
        return (only.east, only.north) if only else None
    share = (at - before.at) / (after.at - before.at) if after.at > before.at else 0.0
    return (
        before.east + share * (after.east - before.east),
        before.north + share * (after.north - before.north),
    )


def _on_air(
    events: Iterable[Event], callsign: str, lengths: Mapping[tuple[float, str], float]
) -> Iterable[Transmission]:
    number = 0
    for event in events:
        at, blocked = event["at"], bool(event.get("blocked"))
        match event["event"]:
            case "TowerSpoke":
                yield Transmission(at, _seconds(event, "tower", lengths), "tower", event["words"], blocked)
            case "OtherSpoke":
                name = event["aircraft"]
                yield Transmission(at, _seconds(event, name, lengths), name, event["words"], blocked)
            case "TraineeSpoke" if "call" in event:
                number += 1
                heard = event.get("heard", "")
                seconds = _seconds({**event, "words": heard}, callsign, lengths)
                # An event of the trainee is of the moment in which he has spoken.
                yield Transmission(max(0.0, at - seconds), seconds, callsign, heard, False, number)
            case "CallMissed":
                number += 1
            case _:
                pass


def _seconds(event: Event, station: str, lengths: Mapping[tuple[float, str], float]) -> float:
    return lengths.get((event["at"], station), _WORDS_S * len(event["words"].split()) + _KEY_S)


def _chart(kept: Any, track: Sequence[TrackPoint], last: float) -> Chart | None:
    if not kept or not track:
        return None
    (begin, end), points = kept["runway"], kept["points"]
    return Chart(
        runway=((begin[0], begin[1]), (end[0], end[1])),
        points={str(name): (place[0], place[1]) for name, place in points.items()},
        track=tuple((p.at, p.east, p.north, p.feet, p.leg) for p in track if p.at <= last),
    )
