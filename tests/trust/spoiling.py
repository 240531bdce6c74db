"""Ways to spoil what a reader is given: its bytes, and the values in it. What comes out is bounded in size."""

import copy
import json
import os
import time
from collections.abc import Callable, Iterable
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

EXAMPLES = int(os.environ.get("PATTERNVOICE_FUZZ", "0"))
"""So many examples a reader; 0: the usual few of each test."""
LONGEST_S = 2.0
"""Of one reading: more is a hang."""


def examples(usual: int) -> settings:
    """So many in an ordinary run, PATTERNVOICE_FUZZ in a long one."""
    return settings(
        max_examples=EXAMPLES or usual // 6,
        suppress_health_check=[
            HealthCheck.function_scoped_fixture,
            HealthCheck.too_slow,
            HealthCheck.data_too_large,
        ],
    )


NASTY_NUMBERS = [0, -1, 1, 10**6, 2**31, 2**63, -(2**63) - 1, 10**400, 1e308, -1e308, 0.1, float("nan"),
                 float("inf"), True, None]  # fmt: skip
NASTY_TEXTS = [
    "", " ", "=1+1", "@SUM(A1)", "../../etc/passwd", "/etc/passwd", "a/b", "\\\\host\\x", "con", "a" * 300, "\0",
    "\x1b[2J", "\n", "\u202e", "ü", "日本", "\U0001f600", "<script>alert(1)</script>", "{{7*7}}", "%s%n", "NaN", "1e999",
]  # fmt: skip


def nested(deep: int) -> Any:
    """A list in a list in a list."""
    value: Any = []
    for _ in range(deep):
        value = [value]
    return value


VALUES = st.one_of(
    st.sampled_from(NASTY_NUMBERS),
    st.sampled_from(NASTY_TEXTS),
    st.text(max_size=20),
    st.integers(),
    st.sampled_from([[], {}, [[]], {"": {}}, nested(60), nested(180)]).map(copy.deepcopy),
)


@st.composite
def spoilt_value(draw: st.DrawFn, whole: Any) -> Any:
    """The value with one to three of its parts replaced, left out, doubled or added to."""
    made = json.loads(json.dumps(whole))
    for _ in range(draw(st.integers(1, 3))):
        spots = list(places(made))
        if not spots:
            return draw(VALUES)
        inside, key = draw(st.sampled_from(spots))
        how = draw(st.sampled_from(["replace", "replace", "drop", "add"]))
        if how == "replace":
            inside[key] = draw(VALUES)
        elif how == "drop":
            del inside[key]
        elif isinstance(inside, list):
            inside.insert(key, draw(VALUES))
        else:
            inside[draw(st.sampled_from([*NASTY_TEXTS, "event", "at", "call"]))] = draw(VALUES)
    return made


def places(value: Any) -> Iterable[tuple[Any, Any]]:
    """Every container in it with each of its keys."""
    if isinstance(value, dict | list):
        keys = list(value) if isinstance(value, dict) else range(len(value))
        for key in keys:
            yield value, key
            yield from places(value[key])


@st.composite
def spoilt_bytes(draw: st.DrawFn, whole: bytes, most: int = 300_000) -> bytes:
    """The bytes with one to four pieces overwritten, cut out, put in or doubled, or cut short."""
    made = whole
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(made)))
        piece = draw(st.binary(max_size=8) | st.sampled_from([b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff"]))
        how = draw(st.sampled_from(["over", "cut", "in", "double", "short"]))
        if how == "over":
            made = made[:place] + piece + made[place + len(piece) :]
        elif how == "cut":
            made = made[:place] + made[place + draw(st.integers(1, 64)) :]
        elif how == "in":
            made = made[:place] + piece + made[place:]
        elif how == "double":
            made = made[:place] + made[max(0, place - 64) :]
        else:
            made = made[:place]
    return made[:most]


def refused_or_read(read: Callable[[], Any], errors: tuple[type[Exception], ...]) -> Any:
    """What it gives, or the error that it raises if that is one of these with a sentence; else a failure."""
    begun = time.process_time()
    try:
        found = read()
    except errors as error:
        found = error
        assert str(error).strip(), "an error without a sentence"
    took = time.process_time() - begun
    assert took < LONGEST_S, f"it took {took:.1f} s"
    return found
