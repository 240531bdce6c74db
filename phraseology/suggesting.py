"""The name that was meant, where a name is not known: near ones only, since a wrong guess is worse than none.

`tests/phraseology/test_suggesting.py` has the slips and the other names that the limit was chosen on.
"""

from collections.abc import Iterable

NEAR = 75.0
"""The least likeness, in per cent, of a name that is suggested (`rapidfuzz.fuzz.ratio`)."""


def nearest(name: str, choices: Iterable[str]) -> str | None:
    """The choice that was most likely meant, or None if none is near."""
    return next(iter(near(name, choices, 1)), None)


def near(name: str, choices: Iterable[str], most: int) -> list[str]:
    """At most so many choices that may have been meant, the nearest first."""
    from rapidfuzz import fuzz, process  # only when something is wrong: the command line starts without it

    found = process.extract(
        name, list(choices), scorer=fuzz.ratio, processor=_as_one_writes, score_cutoff=NEAR, limit=most
    )
    return [choice for choice, _, _ in found]


def _as_one_writes(text: str) -> str:
    """Case and what stands between words make no other name."""
    return text.casefold().replace("-", "_").replace(" ", "_")
