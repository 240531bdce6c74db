"""`patternvoice practise`: ten minutes of what is due and weak, with the reason for each, then flown."""

import json
from datetime import UTC, datetime
from typing import Any

from drills.check import load_field
from phraseology.elements import Callsign
from trainer import compose
from trainer.live.start import DEFAULT_CALLSIGN, How, fly_plan
from trainer.practice.building import Practice, build
from trainer.practice.choosing import choose
from trainer.practice.memory import history, memories
from trainer.session.plan import SessionPlan


def practise(
    field: str, callsign: str | None, how: How, *, only_show: bool, as_json: bool, now: datetime | None = None
) -> int:
    """Choose, say why, and fly it, unless it is only to be shown. Known errors; the exit status."""
    practice = make_practice(field, callsign, now or datetime.now(UTC))
    if as_json:
        print(json.dumps(as_plain(practice), ensure_ascii=False, indent=2))
        return 0
    print("\n".join(practice_lines(practice)))
    if only_show:
        return 0
    drill = practice.drill
    return fly_plan(SessionPlan.of_drill(drill, load_field(field), seed=how.seed), how, "practise")


def make_practice(field: str, callsign: str | None, now: datetime) -> Practice:
    """The practice that the logbook asks for at this time; known errors for field, callsign and logbook."""
    place = load_field(field)
    name = str(Callsign.of(callsign or DEFAULT_CALLSIGN))
    with compose.open_logbook(checked=False) as logbook:
        if logbook.notice:
            print(logbook.notice)
        found = memories(history(logbook), now)
    return build(choose(found, now), place, field, name)


def practice_lines(practice: Practice) -> list[str]:
    """What was chosen and why, as people read it."""
    lines = [f"Practice of about {practice.minutes:.0f} minutes, {len(practice.drill.circuits)} approaches:"]
    for number, each in enumerate(practice.chosen, 1):
        lines.append(f"{number:>3}. {each.title}")
        lines += [f"       {reason}" for reason in each.reasons]
    if not practice.chosen:
        lines.append("  nothing is due: the calls of one circuit")
    return lines


def as_plain(practice: Practice) -> dict[str, Any]:
    """Plain values, for scripts."""
    return {
        "minutes": round(practice.minutes, 1),
        "approaches": list(practice.drill.circuits),
        "chosen": [
            {
                "call": each.call,
                "reply": each.reply,
                "need": round(each.need, 3),
                "reasons": list(each.reasons),
            }
            for each in practice.chosen
        ],
    }
