"""How hard a session is: one number, 0 to 100, of five ingredients, and the ingredients of a number.

What makes listening and answering hard, and where that is from:

- items in a message: read-back errors and requests to repeat rise with them (Prinzo 2006);
- speaking rate: 100 words a minute is the standard (Doc 9432), controllers speak at a median of 6.1
  syllables a second (Nitta et al.);
- traffic, errors of the tower and denials of closed: our own choice of range. Under one in a hundred tower
  messages ends in a communication error (Cardosi 1994, DOT/FAA/RD-94/15): practice has more of them.

Each ingredient counts a fifth (our own choice). Pure.
"""

from dataclasses import dataclass, fields

from phraseology.assess import Assessment
from phraseology.suggesting import nearest

STANDARD_WORDS_A_MINUTE = 100.0
MEDIAN_SYLLABLES_A_SECOND = 6.1
SYLLABLES_A_WORD = 1.469
"""Of the tower's messages: 783 syllables in the 533 words of all replies of the example flight."""

LEVELS: dict[str, float] = {
    "beginner": 0.0,
    "student": 25.0,
    "solo": 50.0,
    "proficient": 75.0,
    "check-ride": 100.0,
}
"""Names for numbers."""
USUAL = LEVELS["student"]

CLEAN_CALLS = 3
"""So many in a row, and it becomes harder."""
STEP = 5.0
"""By so much, up or down (both our own choice)."""


@dataclass(frozen=True)
class Ingredients:
    """`items` of a message of the tower beside the callsign; `words_a_minute` of the tower; other aircraft
    `per_hour`; `traps` and `denied` are shares, 0 to 1: of messages with an error, and of the trainee's
    goes after which through traffic keeps closed from him."""

    items: float
    words_a_minute: float
    per_hour: float
    traps: float
    denied: float


EASIEST = Ingredients(items=2.0, words_a_minute=STANDARD_WORDS_A_MINUTE, per_hour=4.0, traps=0.0, denied=0.0)
HARDEST = Ingredients(
    items=6.0,
    words_a_minute=60.0 * MEDIAN_SYLLABLES_A_SECOND / SYLLABLES_A_WORD,
    per_hour=14.0,
    traps=0.1,
    denied=0.6,
)
"""6 items: the fullest reply to a check-in has so many."""

_NAMES = tuple(field.name for field in fields(Ingredients))


def difficulty(found: Ingredients) -> float:
    """The number of these ingredients; what lies beyond the easiest or the hardest counts as that."""
    shares = []
    for name in _NAMES:
        least, most = getattr(EASIEST, name), getattr(HARDEST, name)
        shares.append(float(min(1.0, max(0.0, (getattr(found, name) - least) / (most - least)))))
    return 100.0 * sum(shares) / len(shares)


def ingredients(level: float) -> Ingredients:
    """Those of a number, 0 to 100: all of them as far from the easiest to the hardest."""
    share = level / 100.0
    return Ingredients(
        **{
            name: getattr(EASIEST, name) + share * (getattr(HARDEST, name) - getattr(EASIEST, name))
            for name in _NAMES
        }
    )


def level_of(text: str) -> float | None:
    """A name of `LEVELS` or a number, 0 to 100; None for anything else."""
    name = text.strip().lower().replace("_", "-").replace(" ", "-")
    if name in LEVELS:
        return LEVELS[name]
    try:
        number = float(name)
    except ValueError:
        return None
    return number if 0.0 <= number <= 100.0 else None


def choices_for(text: str) -> str:
    """What to write instead of a level that is none."""
    likely = nearest(text, LEVELS)
    meant = f'did you mean "{likely}"? ' if likely else ""
    return f"{meant}write a number from 0 to 100, or one of: {', '.join(LEVELS)}"


class Adapting:
    """The level of a free flight, which follows the trainee's last calls. Nothing in it is by chance."""

    def __init__(self, level: float) -> None:
        self.level = level
        self._clean = 0

    def after(self, assessment: Assessment) -> str | None:
        """A call was judged: why the level has changed; None: it has not. Doubt counts neither way."""
        if assessment.unsure:
            return None
        if assessment.critical:
            named = ", ".join(judged.element for judged in assessment.critical)
            return self._to(self.level - STEP, f"critical: {named}")
        if not assessment.accepted:
            self._clean = 0
            return None
        self._clean += 1
        if self._clean < CLEAN_CALLS:
            return None
        return self._to(self.level + STEP, f"{CLEAN_CALLS} clean calls in a row")

    def after_missed(self, call: str) -> str | None:
        """A call that was due did not come."""
        return self._to(self.level - STEP, f"missed: {call.replace('_', ' ')}")

    def _to(self, level: float, why: str) -> str | None:
        self._clean = 0
        level = min(100.0, max(0.0, level))
        if level == self.level:
            return None
        self.level = level
        return why
