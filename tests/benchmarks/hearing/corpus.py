"""What is spoken in the evaluation, and what is right about it: the label comes from the text, never from the ears.

The calls and answers are the instructor's cases of tests/phraseology/cases and the variants of assess_speed.py, which
are labelled by how they were made. Beside them: names never trained on, others' talk, talk of no trade, and mere noise.
"""

import random
import sys
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import islice
from pathlib import Path

from phraseology.assess import assess
from phraseology.calls import CALLS, expect
from phraseology.elements import Kind
from phraseology.expected import Context, Expected, Silence
from phraseology.numbers import DIGIT_WORDS
from phraseology.parse import World
from phraseology.replies import REPLIES, message, say_message
from phraseology.standards import standard
from phraseology.words import tokens
from trainer.ears.training.lexicon import whole_lexicon

sys.path.insert(0, str(Path(__file__).parent.parent))

from assess_speed import FIELDS, Case, variants, written_cases


class Family(StrEnum):
    CALL = "calls"
    ANSWER = "answers to the controller"
    NEW_NAME = "names never trained on"
    OTHERS = "others on the frequency"
    TALK = "talk of no trade"
    SOUND = "no speech at all"
    DIGITS = "digits by a person"
    WORDS = "single words by a person"


@dataclass(frozen=True)
class Item:
    """One utterance.

    `said` is lower-case words with " , " where the speaker breathes; of mere noise its name, of a person's recording
    that is no call the file's. `right`: the tower could act on it. `expected` None: any string of the family's words
    is listened for, nothing is judged.
    """

    family: Family
    said: str
    expected: Expected | None
    right: bool
    how: str = ""

    @property
    def words(self) -> tuple[str, ...]:
        """What should be heard word for word; nothing where nothing should."""
        silent = self.family in (Family.TALK, Family.SOUND)
        return () if silent else tuple(word for word in self.said.split() if word != ",")


CALLSIGNS = ["velvet", "walnut", "pebble", "ginger", "badger", "lotus", "jigsaw", "puffin", "otter", "zephyr"]
POINTS = ["turret", "grange", "chapel", "tulip", "canyon", "timber"]
"""Names in the form of callsigns and points. One that has come into the training's lexicon since is left out."""

TALK = [
    "i left my umbrella on the tram again",
    "the recipe says two spoons of flour and a pinch of salt",
    "our neighbours are painting their fence green",
    "could you feed the goldfish while we are away",
    "the museum is shut on mondays in winter",
    "she has been learning the cello since spring",
    "somebody parked across the driveway",
    "there was a queue all round the bakery this morning",
    "he told us the same joke three times",
    "my sister collects old postage stamps",
    "the lift is out of order so take the stairs",
    "we planted tomatoes and they never ripened",
    "that sofa will not fit through the door",
    "what was the name of that restaurant",
    "they moved the wedding to september",
    "the baby slept through the thunder",
    "i would like a ticket to the second performance",
    "this jumper shrank in the wash",
    "the cat is asleep on the printer",
    "put both boxes in the cellar when you have a moment",
]
"""Written for this evaluation; none of it is in the training's background."""

SOUNDS = ("static", "crackle", "tone", "chord", "melody", "squelch")
DIGITS = (*DIGIT_WORDS[:9], "nine")
_NAMED = (
    "initial",
    "gear_report",
    "request_closed",
    "entry_point",
    "breaking_out",
    "outside_downwind",
    "check_in",
)


def spoken(said: str) -> str:
    """Written words as they are spoken, breaths kept."""
    return " , ".join(" ".join(tokens(part)) for part in said.split(", ") if tokens(part))


@cache
def calls_and_answers(first: int | None = None) -> tuple[Item, ...]:
    """Every labelled case that is spoken at all and on which the judge of the text agrees with the label.

    `first`: only so many of those made by machine, for a run that is over quickly.
    """
    items: dict[tuple[str, str, str], Item] = {}
    for case in islice(variants(), first) if first else (*written_cases(), *variants()):
        if _is_usable(case):
            family = Family.CALL if case.expected.ordered else Family.ANSWER
            item = Item(
                family, spoken(case.said), case.expected, case.right, case.how or "the instructor's case"
            )
            items.setdefault((case.expected.model_call, case.expected.context.standard.name, item.said), item)
    return tuple(items.values())


def _is_usable(case: Case) -> bool:
    return (
        case.expected.silence is not Silence.REQUIRED
        and bool(case.expected.slots)
        and 0 < len(tokens(case.said)) <= 26
        and assess(case.expected, case.said).accepted is case.right
    )


def spread(items: Sequence[Item], count: int, rng: random.Random) -> list[Item]:
    """`count` of the items: every kind of call, right and wrong, in turn; other standards than the first less often."""
    piles: dict[tuple[str, bool], list[tuple[float, Item]]] = defaultdict(list)
    for item in items:
        assert item.expected is not None
        at_once = item.expected.context.standard.name == "us_military_tower" or rng.random() < 0.1
        later = 0.0 if at_once else 1.0
        piles[item.expected.name, item.right].append((later + rng.random(), item))
    keys = sorted(piles)
    for key in keys:
        piles[key].sort(key=lambda pair: pair[0])
    rng.shuffle(keys)
    turns = max((len(pile) for pile in piles.values()), default=0)
    in_turn = (piles[key][turn][1] for turn in range(turns) for key in keys if turn < len(piles[key]))
    return [item for item, _ in zip(in_turn, range(count), strict=False)]


def _corbel() -> Context:
    return Context(
        standard("us_military_tower"), World(points=frozenset({"QUARRY", "SILO", "WEIR"})), "SABLE 21", "31",
        "corbel tower", intention="touch_and_go", point="QUARRY", altitude_ft=2700, distance_nm=3, atis="alfa",
        where="10 west", position="base",
    )  # fmt: skip


def new_name_items(rng: random.Random) -> list[Item]:
    """Calls with a callsign and a point that no training ever heard: right ones, another figure, another name."""
    known = whole_lexicon()
    callsigns, points = (
        [name.upper() for name in names if name not in known] for names in (CALLSIGNS, POINTS)
    )
    items = []
    for name in callsigns:
        for call in _NAMED:
            figures = f"{rng.randint(11, 99)}"
            point, other_point = rng.sample(points, 2)
            here = _corbel().with_(
                world=World(frozenset(callsigns), frozenset(points)),
                callsign=f"{name} {figures}",
                point=point,
            )
            expected = expect(call, here)
            right = spoken(expected.model_call)
            items.append(Item(Family.NEW_NAME, right, expected, True, "the model call"))
            other = rng.choice([word for word in callsigns if word != name])
            figure = rng.choice([digit for digit in "123456789" if digit != figures[1]])
            for how, context in (
                ("another figure", here.with_(callsign=f"{name} {figures[0]}{figure}")),
                ("another name", here.with_(callsign=f"{other} {figures}")),
                ("another point", here.with_(point=other_point)),
            ):
                said = spoken(expect(call, context).model_call)
                if said != right:
                    items.append(Item(Family.NEW_NAME, said, expected, False, how))
    return [item for item in items if _label_holds(item)]


def others_items(rng: random.Random) -> list[Item]:
    """The controller and other aircraft, heard by a microphone that was open when it should not have been."""
    here = _corbel()
    due = [expect(call, here) for call in _NAMED]
    items = []
    for name in sorted(REPLIES.keys() - here.standard.without_replies.keys()):
        fields = {kind: value for kind, value in FIELDS.items() if kind is not Kind.QNH} | {Kind.RUNWAY: "31"}
        if name == "break_in":
            fields[Kind.BREAK] = "in 5"
        said = say_message(message(name, f"HERON {rng.randint(11, 99)}", fields), here.standard)
        items.append(Item(Family.OTHERS, spoken(said), rng.choice(due), False, "the controller to another"))
    for call in sorted(CALLS.keys() - here.standard.without_calls.keys()):
        other = f"{rng.choice(('HERON', 'MARTEN', 'TOPAZ', 'ADZE'))} {rng.randint(11, 99)}"
        said = expect(call, here.with_(callsign=other)).model_call
        items.append(Item(Family.OTHERS, spoken(said), rng.choice(due), False, "another aircraft"))
    return [item for item in items if _label_holds(item)]


def _label_holds(item: Item) -> bool:
    assert item.expected is not None
    return assess(item.expected, " ".join(item.words)).accepted is item.right


def talk_items(texts: Sequence[str], rng: random.Random) -> list[Item]:
    """What has nothing to do with flying, while one of the usual calls is due."""
    due = [expect(call, _corbel()) for call in _NAMED]
    return [Item(Family.TALK, text, rng.choice(due), False, "talk") for text in texts]


def sound_items(count: int, rng: random.Random) -> list[Item]:
    due = [expect(call, _corbel()) for call in _NAMED]
    return [
        Item(Family.SOUND, SOUNDS[turn % len(SOUNDS)], rng.choice(due), False, f"take {turn}")
        for turn in range(count)
    ]


def digit_items(count: int, rng: random.Random) -> list[Item]:
    texts = {" ".join(rng.choices(DIGITS, k=rng.randint(2, 4))) for _ in range(count)}
    return [Item(Family.DIGITS, text, None, True) for text in sorted(texts)]
