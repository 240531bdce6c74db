"""Which calls and replies are to be practised now, the most needful first, each with its reasons."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from phraseology.replies import REPLIES
from trainer.debrief.account import shown
from trainer.debrief.debriefing import call_title
from trainer.logbook.indexing import THE_CALL
from trainer.practice.forcible import BROUGHT_BY, COMES_BACK_TO_INITIAL, FORCIBLE, ONCE
from trainer.practice.memory import Memory

WEAK_SHARE = 0.3
"""An item of which so many of the last tries failed is weak, even where it is not due."""
NEW_NEED = 0.15
"""The need of what was never met: before what is nearly remembered, after what is really due.
Of 0.15, 0.25 and 0.5 the best in `tests/benchmarks/spaced_practice.py`."""
MOST_REASONS = 3


@dataclass(frozen=True)
class Chosen:
    """A call, or a reply to be had to it (the drill's name for it, "" for none). `need` orders them."""

    call: str
    reply: str
    need: float
    reasons: tuple[str, ...]

    @property
    def title(self) -> str:
        return situation_title(self.call, self.reply)


def situation_title(call: str, reply: str) -> str:
    """ "Request for closed" alone, or with the reply that comes to it."""
    title = call_title(call) if call else "The tower"
    return f"{title}, then: {REPLIES[reply].title}" if reply in REPLIES else title


def choose(found: Iterable[Memory], now: datetime) -> list[Chosen]:
    """What can be practised in a drill, the most needful first; what is neither due, weak nor new is not."""
    met: dict[tuple[str, str], list[Memory]] = defaultdict(list)
    pressing: dict[tuple[str, str], list[tuple[float, Memory]]] = defaultdict(list)
    for memory in found:
        call, reply = memory.item.call, memory.item.reply
        met[call, reply].append(memory)
        amount = need(memory, now)
        if amount > 0.0:
            pressing[(call, reply) if reply else BROUGHT_BY.get(call, (call, ""))].append((amount, memory))
    chosen = []
    for call, replies in FORCIBLE.items():
        for order, reply in enumerate(("", *replies)):
            needs = sorted(pressing.get((call, reply), ()), key=lambda each: -each[0])
            if needs:
                reasons = tuple(why(memory, now) for _, memory in needs[:MOST_REASONS])
                chosen.append(Chosen(call, reply, sum(amount for amount, _ in needs), reasons))
            elif reply and (call, reply) not in met:
                chosen.append(Chosen(call, reply, NEW_NEED - 0.001 * order, ("never met so far",)))
    return sorted(chosen, key=lambda each: -each.need)


def fitting(chosen: Iterable[Chosen], most: int) -> list[Chosen]:
    """Of these the first `most` that one session has room for: it has one check-in, and a further initial
    only after a reply that leads back to it."""
    taken: list[Chosen] = []
    for each in chosen:
        forced = [other for other in taken if other.reply and other.call == each.call]
        room = {
            ONCE: 1,
            "initial": 1 + sum(other.reply in COMES_BACK_TO_INITIAL for other in taken),
        }.get(each.call, most)
        if not each.reply or len(forced) < room:
            taken.append(each)
        if len(taken) == most:
            break
    return taken


def need(memory: Memory, now: datetime) -> float:
    """How much an item wants practice: the chance that it is forgotten if it is due, more if it is weak."""
    amount = 1.0 - memory.recall if memory.due <= now else 0.0
    if memory.failed_last or memory.failed > WEAK_SHARE * memory.tries:
        amount += 0.5 * (1.0 - memory.recall) + 0.25
    return amount


def why(memory: Memory, now: datetime) -> str:
    """In a line: what it is, how well it is remembered, how often it failed."""
    item = memory.item
    name = "making the call" if item.element == THE_CALL else shown(item.element)
    if not item.reply and item.call in BROUGHT_BY:
        name = f"{call_title(item.call)}, {name}"
    parts = []
    if memory.due <= now:
        days = (now - memory.due).days
        parts.append("due today" if days == 0 else f"due for {days} day{'s' if days > 1 else ''}")
        parts.append(f"recalled with {100.0 * memory.recall:.0f} %")
    if memory.failed:
        last = ", the last too" if memory.failed_last else ""
        parts.append(f"wrong {memory.failed} of {memory.tries}{last}")
    return f"{name}: {'; '.join(parts)}"
