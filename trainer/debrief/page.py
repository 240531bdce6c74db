"""The debrief of one session as a page: the account's values as the template shows them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from phraseology.assess import Verdict
from phraseology.elements import Severity
from trainer.debrief.account import CallAccount, Mark, SessionAccount
from trainer.drawing.debrief import TONES, plan_view, timeline
from trainer.paper import page

Uris = Mapping[int, str]
"""Sound of a call, by its number, as a data URI."""

_TONES = {Verdict.RIGHT: "good", Verdict.WRONG: "bad", Verdict.MISSING: "bad", Verdict.UNSURE: "doubt"}


@dataclass(frozen=True)
class MarkLine:
    """A mark as a page shows it: `tone` is a class of the style."""

    sign: str
    tone: str
    element: str
    words: str
    severity: str
    rule: str
    source: str
    faulty: bool


def mark_lines(marks: Sequence[Mark]) -> list[MarkLine]:
    """The marks of one call, for `parts.mark_list`."""
    return [
        MarkLine(
            sign=mark.sign,
            tone=_TONES.get(mark.verdict, "care"),
            element=mark.element,
            words=_words(mark),
            severity="" if mark.severity is Severity.NONE else mark.severity.value,
            rule=mark.rule,
            source=mark.source,
            faulty=mark.verdict is not Verdict.RIGHT,
        )
        for mark in marks
    ]


def _words(mark: Mark) -> str:
    match mark.verdict:
        case Verdict.MISSING:
            return f"missing: {mark.expected}" if mark.expected else "missing"
        case Verdict.WRONG if mark.expected:
            return f"{mark.heard}, not {mark.expected}"
        case Verdict.UNSURE:
            return "not heard for sure"
        case _:
            return f"{mark.verdict.value}: {mark.heard}" if mark.heard else mark.verdict.value


def debrief_page(account: SessionAccount, mine: Uris | None = None, model: Uris | None = None) -> str:
    """The whole document; `mine` and `model` are the sounds that there are."""
    return page(
        "debrief.html",
        flight=account,
        summary=_summary(account),
        figures=_figures(account),
        happened=[(clock(at), words) for at, words in account.happened],
        plan=plan_view(account),
        timeline=timeline(account),
        calls=[_card(call, mine or {}, model or {}) for call in account.calls],
    )


def _card(call: CallAccount, mine: Uris, model: Uris) -> dict[str, Any]:
    return {
        **{name: getattr(call, name) for name in CallAccount.__dataclass_fields__},
        "tone": TONES[call.outcome],
        "faults": call.faults or call.outcome == "missed",
        "marks": mark_lines(call.marks),
        "when": _when(call),
        "mine": mine.get(call.number),
        "model": model.get(call.number),
    }


def clock(seconds: float) -> str:
    """Session seconds as minutes and seconds."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def _when(call: CallAccount) -> str:
    parts = [clock(call.at)]
    if call.leg:
        parts.append(call.leg)
    if call.answer_s is not None and call.outcome != "missed":
        parts.append(f"{call.answer_s:.1f} s to the key")
    return ", ".join(parts)


def _summary(account: SessionAccount) -> str:
    try:
        day = f"{datetime.fromisoformat(account.started):%d %B %Y, %H:%M}"
    except ValueError:
        day = account.started
    runway = f"runway {account.runway}" if account.runway else ""
    pace = f"{account.pace} pace" if account.pace else ""
    how = [account.callsign, account.field, runway, pace, day, f"session {account.session}"]
    return ", ".join(part for part in how if part)


def _figures(account: SessionAccount) -> list[tuple[str, str]]:
    times = sorted(call.answer_s for call in account.calls if call.answer_s is not None)
    missed = sum(call.outcome == "missed" for call in account.calls)
    pairs = [
        ("score of 100", f"{account.score:.0f}" if account.calls else "none"),
        ("calls accepted", f"{account.accepted} of {len(account.calls)}"),
        ("with a critical error", str(sum(call.critical for call in account.calls))),
    ]
    if missed:
        pairs.append(("missed", str(missed)))
    if times and account.pace != "patient":
        pairs.append(("usual time to the key", f"{times[len(times) // 2]:.1f} s"))
    if account.ended is not None:
        pairs.append((account.reason, clock(account.ended)))
    else:
        pairs.append(("end", account.reason))
    return pairs
