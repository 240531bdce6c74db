"""What the trainee can be expected to remember of each element of each call and answer.

Spaced repetition by FSRS (package `fsrs`, the scheduler with its published default weights). An item is an
element of a call, or of the answer to a reply that came to a call. Its memory is played again from the
logbook each time, so nothing is kept beside it, and what is deleted there is forgotten here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby
from typing import NamedTuple

from fsrs import Card, Rating, Scheduler

from trainer.logbook.indexing import UNSURE
from trainer.logbook.store import Logbook

RETENTION = 0.9
"""An item is due once it would be recalled with this probability."""
LAST_REVIEWS = 40
"""Of each item so many last reviews tell; one session is one review, its worst try."""


class Item(NamedTuple):
    """`call` as in the table of calls; `reply` "" for a call of the trainee's own."""

    call: str
    reply: str
    element: str


@dataclass(frozen=True)
class Review:
    """One session's worst try of an item: 1 worse than minor, 2 minor, 3 right (as FSRS rates)."""

    item: Item
    at: datetime
    rating: int


@dataclass(frozen=True)
class Memory:
    """`recall` is the probability now, 0 to 1; `failed` of the last `tries` were worse than minor."""

    item: Item
    due: datetime
    recall: float
    tries: int
    failed: int
    failed_last: bool


def history(logbook: Logbook) -> list[Review]:
    """Every item of the logbook with its last reviews, by item, oldest first."""
    started = {number: _time(at) for number, at in logbook.rows("SELECT id, started FROM sessions")}
    reviews = []
    for number, *names in logbook.rows("SELECT id, call, reply, element FROM items ORDER BY id"):
        last = logbook.rows(
            "SELECT session, worst FROM tallies WHERE item = ? AND worst <> ? ORDER BY session DESC LIMIT ?",
            (number, UNSURE, LAST_REVIEWS),
        )
        reviews += [Review(Item(*names), started[session], worst) for session, worst in reversed(last)]
    return reviews


def _time(started: str) -> datetime:
    """ISO 8601; without a zone it is taken for UTC."""
    at = datetime.fromisoformat(started)
    return at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)


def scheduler() -> Scheduler:
    """Days, not minutes: a session is one review, so there are no steps of learning inside it."""
    return Scheduler(
        desired_retention=RETENTION, learning_steps=(), relearning_steps=(), enable_fuzzing=False
    )


def memories(reviews: Iterable[Review], now: datetime) -> list[Memory]:
    """The memory of each item; `reviews` by item, oldest first, as `history` gives them."""
    scheduling = scheduler()
    return [
        _memory(item, list(group), now, scheduling)
        for item, group in groupby(reviews, key=lambda review: review.item)
    ]


def _memory(item: Item, reviews: Sequence[Review], now: datetime, scheduling: Scheduler) -> Memory:
    card = Card(card_id=1)
    last = reviews[0].at - timedelta(seconds=1)
    for review in reviews:
        last = max(last + timedelta(seconds=1), review.at)  # a clock that was set back
        card, _ = scheduling.review_card(card, Rating(review.rating), last)
    failed = [review.rating == 1 for review in reviews]
    return Memory(
        item=item,
        due=card.due,
        recall=scheduling.get_card_retrievability(card, max(now, last)),
        tries=len(reviews),
        failed=sum(failed),
        failed_last=failed[-1],
    )
