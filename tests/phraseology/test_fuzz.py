"""Nothing said at random makes the judge fall, and nothing passes that does not say what the call must say.

A few thousand examples, the same in every run, belong to the ordinary suite. The long run is

    PATTERNVOICE_FUZZ=200000 python -m pytest tests/phraseology/test_fuzz.py

which takes that many in all, other ones each time. `Meaning` below is the oracle: it searches the text, with
its own reader of figures, for the callsign and for a table form of all that the call must carry, and for
what may not stand beside it. It uses neither the parser nor the judge.
"""

import os
import re
from collections.abc import Iterator
from functools import cache

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from phraseology.assess import assess
from phraseology.calls import CALLS, expect
from phraseology.elements import Kind, Severity
from phraseology.expected import Context, Expected, Silence, Slot
from phraseology.parse import World, parse
from phraseology.phrases import AIRCRAFT_TYPES, DIRECTIONS, LETTERS, PHRASES
from phraseology.readback import answer_to
from phraseology.replies import ALL, REPLIES, message, read_message, say_message
from phraseology.standards import STANDARDS, standard

TOTAL = int(os.environ.get("PATTERNVOICE_FUZZ", "2500"))
LONG = "PATTERNVOICE_FUZZ" in os.environ


def share(part: float) -> settings:
    return settings(
        max_examples=max(1, round(TOTAL * part)),
        deadline=None,
        derandomize=not LONG,
        database=None,
        phases=[Phase.generate] if LONG else tuple(Phase),  # a long run says what it found, at once
        suppress_health_check=list(HealthCheck),
    )


# -- what is expected: every call and every reply, in each standard ----------------------------------------

POINTS = ("QUARRY", "SILO", "WEIR")
NAMES = ("SABLE", "HERON", "MARTEN", "TOPAZ", "ADZE")
WORLD = World(callsign_words=frozenset(NAMES), points=frozenset(POINTS))
FIELDS: dict[Kind, tuple[str, ...]] = {
    Kind.RUNWAY: ("own", "13"),
    Kind.ALTITUDE: ("3700", "2300"),
    Kind.WIND: ("310/8", "calm"),
    Kind.ALTIMETER: ("2992", "3001"),
    Kind.QNH: ("1013", "995"),
    Kind.REPORT: ("SILO", "initial 3", "outside_downwind"),
    Kind.BREAK: ("midfield", "departure_end", "in 5"),
    Kind.CLEARANCE: ("touch_and_go", "full_stop", "option", "low_approach", "stop_and_go"),
    Kind.SEQUENCE: ("2", "3"),
    Kind.FOLLOW: ("HERON 42 final_turn", "jet_trainer inside_downwind"),
    Kind.SIDE: ("left", "right"),
    Kind.CONDITION: ("after traffic initial", "at departure_end", "after HERON 42 final"),
    Kind.HOLD: ("WEIR", "SILO"),
    Kind.UNAVAILABLE: ("WEIR",),
    Kind.ATIS: ("alfa", "bravo"),
    Kind.ACTION: ("breaking_out", "remain_clear"),
    Kind.TRAFFIC_INFORMATION: ("jet_trainer initial 3", "HERON 42 final"),
    Kind.TIME: ("0710",),
    Kind.HEADING: ("350", "050"),
    Kind.SPEED: ("200", "180"),
    Kind.FREQUENCY: ("118.1", "121.5"),
    Kind.READABILITY: ("5",),
}


def contexts(name: str) -> tuple[Context, ...]:
    """A bare one and one in which everything is fixed, at the demo field that has this standard."""
    us = name.startswith("us_")
    station, runway = ("corbel tower", "31") if us else ("wickstone tower", "08L")
    bare = Context(
        standard(name), WORLD, "SABLE 21", runway, station, intention="touch_and_go", point="QUARRY"
    )
    full = bare.with_(
        callsign="SABLE 39",
        altitude_ft=4500,
        distance_nm=3,
        atis="alfa",
        where="10 west",
        side="left",
        position="base",
        nature="bird_strike",
        fuel_min=20,
        souls=2,
        intention="full_stop",
    )
    return bare, full


def everything_expected() -> Iterator[tuple[Expected, str]]:
    """What is expected, and the controller's words before it."""
    for name, kind in STANDARDS.items():
        for here in contexts(name):
            for call in CALLS.keys() - kind.without_calls.keys():
                yield expect(call, here), ""
            for reply in REPLIES.keys() - kind.without_replies.keys():
                for turn in range(5):
                    fields = {field: values[turn % len(values)] for field, values in FIELDS.items()}
                    if fields[Kind.RUNWAY] == "own":
                        fields[Kind.RUNWAY] = here.runway
                    left_out = (Kind.ALTIMETER, Kind.QNH)[kind.numbers.pressure == "altimeter"]
                    fields.pop(left_out)
                    if reply == "break_in":
                        fields[Kind.BREAK] = "in 5"
                    elif fields[Kind.BREAK] == "in 5":
                        fields[Kind.BREAK] = "midfield"
                    to = {3: "SABLE 12", 4: here.callsign if reply != "go_around" else ALL}.get(
                        turn, here.callsign
                    )
                    msg = message(reply, to, fields)
                    yield answer_to(msg, here), say_message(msg, here.standard)


EXPECTED = sorted(
    everything_expected(), key=lambda pair: (pair[0].context.standard.name, pair[0].name, pair[1])
)


# -- the oracle --------------------------------------------------------------------------------------------


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


def _phrases(text: str) -> tuple[str, ...]:
    return tuple(text.split(" | "))


_DIGITS = {
    **dict(zip(_words("zero one two three four five six seven eight nine"), "0123456789", strict=True)),
    **{"niner": "9", "tree": "3", "fower": "4", "fife": "5", "ait": "8", "oh": "0"},
}
_TEENS = _words("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
_TENS = _words("twenty thirty forty fifty sixty seventy eighty ninety")
_HESITATIONS = _words("uh um ah er hmm erm uhm")
_NEGATIONS = _words("not no never don't without isn't cancel")
_SPELLINGS = {"breakout": "break out", "standby": "stand by", "alpha": "alfa", "juliet": "juliett"}
_UNITS = {
    2: re.compile(
        r" ?(miles?|thousand|hundred|hours?|plus|souls?|persons|people|pob|on board|down|greens?|by \d) "
    ),
    3: re.compile(" ?(feet|minutes?|point|decimal|knots|degrees|to initials?|north|south|east|west) "),
}
"""What may stand behind so many figures."""
_FORBIDDEN_WITH = {
    Kind.GEAR: ("up", "unsafe"),
    Kind.ACTION: ("going_around", "breaking_out", "climbing_out", "straight_through", "make_straight_in"),
}
_LABELS = {Kind.ALTIMETER: "altimeter", Kind.QNH: "qnh", Kind.HEADING: "heading", Kind.SPEED: "speed"}


def in_figures(text: str) -> str:
    """The words between blanks, figures one by one: "sable twenty one" is " sable 2 1 "."""
    words = re.findall(r"[a-z]+(?:'[a-z]+)?|[0-9]", text.lower().replace("\u2019", "'"))
    words = [word for word in words if word not in _HESITATIONS]
    said: list[str] = []
    for place, word in enumerate(words):
        following = words[place + 1] if place + 1 < len(words) else ""
        if word in _TEENS:
            said += ["1", str(_TEENS.index(word))]
        elif word in _TENS:
            said.append(str(_TENS.index(word) + 2))
            said += [] if _DIGITS.get(following, "0") != "0" else ["0"]
        else:
            said.append(_DIGITS.get(word, _SPELLINGS.get(word, word)))
    return f" {' '.join(said)} "


def digits(value: str) -> str:
    return " ".join(re.sub("[^0-9]", "", value))


def amounts(text: str) -> set[int]:
    """Every number of feet or hectopascals that the words with "thousand" or "hundred" can be taken for."""
    found = set()
    for match in re.finditer(
        r"(?<= )((?:\d )+)thousand (?:and )?(?:(\d) hundred )?(?:and )?((?:\d )*)", text
    ):
        lead, hundreds, rest = match.groups()
        for count in (1, 2):
            base = int("".join(lead.split()[-count:])) * 1000 + int(hundreds or 0) * 100
            found |= {base} | {base + int("".join(rest.split()[:n])) for n in (1, 2, 3) if rest.split()[:n]}
    for match in re.finditer(r"(?<= )((?:\d )+)hundred (?:and )?((?:\d )*)", text):
        lead, rest = match.groups()
        for count in (1, 2):
            base = int("".join(lead.split()[-count:])) * 100
            found |= {base} | {base + int("".join(rest.split()[:n])) for n in (1, 2) if rest.split()[:n]}
    return found


@cache
def forms(kind: Kind, value: str | None) -> list[str]:
    return [
        in_figures(form)
        for phrase in PHRASES
        if phrase.kind is kind and value in (None, phrase.value)
        for form in (*phrase.forms, *phrase.careless)
    ]


def _measures(figures: str, text: str, end: int) -> bool:
    """The figures before `end` count something: "three" of "three mile" is no part of a name before it."""
    return any(len(figures.split()) <= most and unit.match(text, end) for most, unit in _UNITS.items())


class Meaning:
    """What a text says of a call: `missing` and `beside` give the first thing that is wrong with it, or ""."""

    def __init__(self, expected: Expected, after: str, text: str) -> None:
        self.expected, self.after, self.text = expected, in_figures(after), in_figures(text)
        self.without_sides = re.sub(r" (left|right)(?= )", "", self.text)
        self.put_right = bool(re.search(" (correction|disregard) ", self.text))
        context = expected.context
        self.name, self.figures = context.callsign.lower().split()
        self.runways = {context.runway} if not expected.name.endswith("runway_change") else set()
        if match := re.search(r" runway ((?:\d )+)(left|right)?", self.after):
            self.runways.add(f"{int(match[1].replace(' ', ''))} {match[2] or ''}".strip())

    def fault(self) -> str:
        """Why an accepted text should not have been, or ""."""
        if self.expected.silence is Silence.REQUIRED:
            return "" if not self.text.strip() else "somebody else was spoken to"
        if self.expected.silence is Silence.ALLOWED and not self.text.strip():
            return ""
        return self.missing() or ("" if self.put_right else self.beside())

    # what must be there

    def missing(self) -> str:
        if not self.says_callsign():
            return "callsign"
        if self.expected.refusable and self.refuses():
            return ""
        must = [s for s in self.expected.slots if s.missing in (Severity.CRITICAL, Severity.MAJOR)]
        return next((slot.kind.value for slot in must if not self.carries(slot)), "")

    def says_callsign(self) -> bool:
        if self.put_right:
            return bool(re.search(rf" {self.name} (.* )?{' (.* )?'.join(self.figures)} ", self.text))
        return f" {self.name} {digits(self.figures)} " in self.text

    def refuses(self) -> bool:
        closed = " closed approved " in self.after or " closed traffic approved " in self.after
        return " unable " in self.text or (closed and self.any_form(Kind.CLOSED, "denied"))

    def carries(self, slot: Slot) -> bool:
        if slot.kind is Kind.CALLSIGN:
            return True
        own = [
            (slot.kind, value)
            for value in (slot.accept | slot.tolerated if slot.accept is not None else {None})
        ]
        other = [(i.kind, value) for i in slot.instead for value in (i.values or {None})]
        return any(self.says(kind, value) for kind, value in (*own, *other))

    def says(self, kind: Kind, value: str | None) -> bool:
        match kind:
            case Kind.RUNWAY:
                number, _, side = (value or "").partition(" ")
                return f" {digits(number)} {side}".rstrip() + " " in self.text
            case Kind.ALTITUDE if value:
                return int(value) in amounts(self.text) or f" {digits(value)} " in self.text
            case Kind.ALTIMETER | Kind.QNH | Kind.HEADING | Kind.SPEED | Kind.FREQUENCY | Kind.SOULS if value:
                plain = re.sub(" (point|decimal)(?= )", "", self.text)
                return f" {digits(value)} " in plain or int(re.sub(r"\D", "", value)) in amounts(self.text)
            case Kind.WHERE if value:
                miles, direction = value.split()
                apart = re.sub("^(north|south)(east|west)$", r"\1 \2", direction)
                return bool(re.search(rf" {digits(miles)} (miles? )?((to|the) )*{apart} ", self.text))
            case Kind.DISTANCE if value:
                return bool(re.search(rf" {digits(value)} miles? ", self.text))
            case Kind.POINT | Kind.HOLD:
                return any(f" {point.lower()} " in self.text for point in POINTS if value in (None, point))
            case Kind.REPORT:
                name, _, miles = (value or "").partition(" ")
                point = self.says(Kind.POINT, name or None)
                return point or self.any_form(Kind.POSITION, name or None)
            case Kind.ATIS:
                return any(
                    f" {word} " in self.text for word in (*LETTERS, "numbers") if value in (None, word)
                )
            case Kind.STATION:
                return f" {value} " in self.text
            case Kind.SIDE:
                return f" {value} " in self.text
            case Kind.CONDITION:
                return self.says_condition(value or "")
            case Kind.BREAK if value and value.startswith("in "):
                return bool(re.search(rf" break(ing)? in (0 )?{digits(value)} seconds ", self.text))
            case Kind.FUEL if value != "minimum":
                minutes = "" if value is None else f" {digits(value)} "
                return minutes in self.text and bool(re.search(" (fuel|minutes?|hours?|plus) ", self.text))
            case Kind.SOULS:
                return bool(re.search(" (souls?|persons|people|pob|board) ", self.text))
            case Kind.READABILITY:
                return bool(re.search(r" (readability|read(ing)? you) \d ", self.text)) or self.any_form(
                    kind, None
                )
            case Kind.WHERE:
                return bool(re.search(r" \d (miles? )?((to|the) )*(north|south|east|west) ", self.text))
            case Kind.ALTITUDE:
                rest = self.text.replace(f" {self.name} {digits(self.figures)} ", " ", 1)
                return bool(re.search(r" \d ((thousand|hundred|feet) |\d 0 0 )", rest))
            case _:
                return self.any_form(kind, value)

    def says_condition(self, value: str) -> bool:
        joint, _, rest = value.partition(" ")
        if joint == "at":
            return self.any_form(Kind.POSITION, rest)
        words = rest.split()
        named = words[0].isupper()
        whom = (
            [in_figures(" ".join(words[:2]))]
            if named
            else [f" {w} " for w, k in AIRCRAFT_TYPES.items() if k == words[0]]
        )
        place = words[2:] if named else words[1:]
        there = not place or self.any_form(Kind.POSITION, place[0])
        return there and bool(re.search(" (after|behind) ", self.text)) and any(w in self.text for w in whom)

    def any_form(self, kind: Kind, value: str | None) -> bool:
        return any(self.unnegated(form) for form in forms(kind, value))

    def unnegated(self, form: str) -> bool:
        """The form stands somewhere with no negation in front of it."""
        texts = (self.text, self.without_sides)
        if self.put_right:
            texts += (re.sub(" correction(?= )", "", self.text),)
        for text in texts:
            start = text.find(form)
            while start >= 0:
                before = [word for word in text[:start].split() if word not in ("a", "the", "for", "be")]
                not_cleared = before[-2:] in (["not", "clear"], ["not", "cleared"])
                if not before or (before[-1] not in _NEGATIONS and not not_cleared):
                    return True
                start = text.find(form, start + 1)
        return False

    # what may not be there

    def beside(self) -> str:
        return self.other_callsign() or self.other_runway() or self.other_landing() or self.other_value()

    def other_callsign(self) -> str:
        for match in re.finditer(rf" ({'|'.join(NAMES).lower()}|table|saber) ((?:\d )+)", self.text):
            name, figures = match[1], match[2].strip()
            if name == self.name and figures.startswith(digits(self.figures)):
                rest = figures.removeprefix(digits(self.figures)).strip()
                around = in_figures(self.expected.model_call) + self.after
                known = f" {rest} " in around.replace(f"{name} {digits(self.figures)}", "") or rest == "3 6 0"
                if not rest or known or _measures(rest, self.text, match.end(2)):
                    continue
                alone = re.search(rf" {name} {digits(self.figures)} (?!\d )", self.text)
                if alone and self.is_traffic(match):
                    continue
                if rest in {digits(runway) for runway in self.runways}:
                    continue
                wanted = re.fullmatch(r"[123] \d", rest) and rest != digits(self.figures)
                if self.expected.name == "answer_to_go_ahead" and wanted:
                    continue  # another runway
            elif self.is_traffic(match) or (
                name != self.name and _measures(figures, self.text, match.end(2))
            ):
                continue
            return f"another callsign: {name} {figures}"
        return ""

    def is_traffic(self, match: re.Match[str]) -> bool:
        """Another aircraft is only spoken of: it is in the message, or it is looked for or followed."""
        if f" {match[1]} {match[2].strip()} " in self.after:
            return True
        around = " ".join(
            self.text[: match.start() + 1].split()[-3:] + self.text[match.end(2) - 1 :].split()[:3]
        )
        return bool(re.search("sight|look|contact|joy|follow|behind|after|traffic|visual|tally", around))

    def other_runway(self) -> str:
        if self.expected.name == "answer_to_go_ahead":  # whatever he wants, another runway too
            return ""
        for match in re.finditer(r" runway ((?:\d )+)(?:(left|right|center|centre) )?(\w*)", self.text):
            if (
                self.text[: match.start()].split()[-1:]
                and self.text[: match.start()].split()[-1] in _NEGATIONS
            ):
                continue  # "no runway ..." names none
            figures = match[1].replace(" ", "").removeprefix("0")
            if match[3] in ("mile", "miles") or (
                len(figures) == 1 and _measures("", self.text, match.end(1))
            ):
                continue  # "runway three mile initial" names none
            side = (
                match[2]
                if match[3] not in ("break", "closed", "base", "downwind", "hand", "turn", "traffic")
                else ""
            )
            if not any(
                figures.startswith(runway.split()[0]) and (side or "") in (runway.partition(" ")[2],)
                for runway in self.runways
            ):
                return f"another runway:{match[0]}"
        return ""

    def other_landing(self) -> str:
        """What is cleared or meant and was not given. A part to be said again may be quoted."""
        rest = self.without("say again (all|word) (after|before) .*", "full stops? only", "loud and clear")
        slots = {slot.kind: slot for slot in self.expected.slots}
        cleared = slots[Kind.CLEARANCE].accept or frozenset() if Kind.CLEARANCE in slots else frozenset()
        if other := rest.other_form(Kind.CLEARANCE, cleared):
            return f"a clearance that was not given: {other}"
        wanted = next((slots[kind] for kind in (Kind.CLEARANCE, Kind.INTENTION) if kind in slots), None)
        if wanted is None or wanted.accept is None or self.expected.name == "challenge":
            return ""
        other = rest.other_form(Kind.INTENTION, wanted.accept)
        return f"another intention: {other}" if other else ""

    def other_form(self, kind: Kind, right: frozenset[str]) -> str:
        others = {phrase.value for phrase in PHRASES if phrase.kind is kind} - right
        return next((value for value in sorted(others) if self.any_form(kind, value)), "")

    def without(self, *patterns: str) -> "Meaning":
        """The same of the text without these words."""
        return Meaning(self.expected, "", re.sub(f" ({'|'.join(patterns)})(?= )", "", self.text))

    def other_value(self) -> str:
        refused = self.expected.refusable and self.refuses()
        for slot in self.expected.slots:
            if slot.accept is None or slot.missing in (Severity.NONE, Severity.MINOR) or refused:
                continue
            for value in _FORBIDDEN_WITH.get(slot.kind, ()):
                if value not in slot.accept and self.any_form(slot.kind, value):
                    return f"{slot.kind.value} {value} beside {slot.say}"
            if slot.kind in _LABELS:
                label = _LABELS[slot.kind]
                for match in re.finditer(rf" {label} (?:is )?((?:\d )+)(\w*)", self.text):
                    if not match[1].startswith(digits(slot.say or "")) and match[2] not in (
                        "hundred",
                        "thousand",
                    ):
                        return f"another {label}:{match[0]}"
            if (
                slot.kind is Kind.ALTITUDE
                and " thousand " in self.text
                and int(slot.say or 0) not in amounts(self.text)
            ):
                return "another altitude"
            if slot.kind in (Kind.POINT, Kind.REPORT, Kind.HOLD):
                known = {slot.say, self.expected.context.point} | {
                    p for p in POINTS if p.lower() in self.after
                }
                if other := [p for p in POINTS if p not in known and self.unnegated(f" {p.lower()} ")]:
                    return f"another point: {other[0]}"
        call = CALLS.get(self.expected.name)
        told = self.without("(check|verify|confirm) (gear|wheels|3) (is )?down", "[12] down and locked")
        if call and call.gear_is_up and told.any_form(Kind.GEAR, "down"):
            return "gear down where it is up"
        return ""


# -- what is said ------------------------------------------------------------------------------------------

_FIXED = sorted({form for phrase in PHRASES for form in (*phrase.forms, *phrase.careless)})
_LIKE_FORMS = {
    form: sorted(
        {other for p in PHRASES if p.kind is phrase.kind for other in (*p.forms, *p.careless)} - {form}
    )
    for phrase in PHRASES
    for form in (*phrase.forms, *phrase.careless)
}
_CLASSES: tuple[tuple[str, ...], ...] = (
    (*_DIGITS, *_TEENS, *_TENS),
    (*(name.lower() for name in NAMES), "table", "saber"),
    tuple(point.lower() for point in POINTS),
    LETTERS,
    ("left", "right", "center"),
    ("north", "south", "east", "west"),
    ("thousand", "hundred", "point", "decimal", "miles", "mile", "feet", "knots", "degrees", "minutes"),
    ("runway", "heading", "altimeter", "qnh", "speed", "wind", "altitude", "number", "information", "report"),
)
_CLASS_OF = {word: group for group in _CLASSES for word in group}
_ANYTHING = sorted(
    {word for form in _FIXED for word in form.split()}
    | set(_CLASS_OF)
    | set(_NEGATIONS)
    | {word for direction in DIRECTIONS for word in direction.split()}
    | {*_words("corbel wickstone tower traffic for at on in and the of to is with over all say weather no")}
    | {*_words("follow following behind after before maintain climb descend hold correction disregard")}
)
_PIECES = _phrases(
    "sable two one | sable three niner | sable one two | heron four two | corbel tower | wickstone tower"
    " | ten miles west | four thousand five hundred feet | information alfa | three mile | report quarry"
    " | runway three one | runway one three | runway zero eight left | runway zero eight right | number two"
    " | altimeter two niner niner two | qnh one zero one three | three thousand seven hundred | hold at weir"
    " | two zero minutes fuel | two souls on board | heading three five zero | one one eight point one"
    " | follow heron four two | report silo | after the traffic on initial | readability five | all after runway"
)
any_words = st.lists(st.sampled_from((*_ANYTHING, *_PIECES, *_FIXED)), max_size=10).map(" ".join)
any_bytes = st.binary(max_size=80).map(lambda raw: raw.decode(errors="replace"))
any_text = any_bytes | st.text(max_size=60) | st.text("sable21 31niner,.-'\u2019x", max_size=40)


@st.composite
def spoilt(draw: st.DrawFn, model: str) -> str:
    """A model call with some words dropped, doubled, exchanged for others of their class, or moved."""
    words = model.replace(",", "").split()
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, max(len(words) - 1, 0)))
        word = words[place] if words else ""
        match draw(st.integers(0, 9)):
            case 0:
                del words[place : place + 1]
            case 1:
                words.insert(place, word)
            case 2:
                words[place : place + 2] = words[place : place + 2][::-1]
            case 3 | 4:  # another of its class: a figure for a figure
                words[place : place + 1] = [draw(st.sampled_from(_CLASS_OF.get(word, _ANYTHING)))]
            case 5:
                words.insert(place, draw(st.sampled_from((*_PIECES, *_ANYTHING))))
            case 6:
                words[place:], words[:place] = words[:place], words[place:]
            case 7:  # another phrase of its kind: "cleared to land" for "cleared touch and go"
                said = " ".join(words)
                there = [form for form in _FIXED if f" {form} " in f" {said} "]
                if there:
                    form = draw(st.sampled_from(there))
                    words = f" {said} ".replace(
                        f" {form} ", f" {draw(st.sampled_from(_LIKE_FORMS[form]))} ", 1
                    ).split()
            case 8:
                words.insert(place, draw(st.sampled_from(_NEGATIONS)))
            case _:
                words += draw(st.sampled_from((*_PIECES, *_FIXED))).split()
        words = " ".join(words).split()
    return " ".join(words)


expectations = st.integers(0, len(EXPECTED) - 1)


def judge(which: int, said: str) -> None:
    expected, after = EXPECTED[which]
    assessment = assess(expected, said)
    assert 0 <= assessment.score <= 100
    assert assessment.as_json()["accepted"] is assessment.accepted
    if assessment.accepted:
        fault = Meaning(expected, after, said).fault()
        standing = f"{expected.context.standard.name}, {expected.name}, {expected.context.callsign}"
        assert not fault, f"{standing}: {said!r} after {after!r} was accepted: {fault}"


def read(said: str, which: int) -> None:
    """The parser and the controller's parser take anything, and what they read can be answered."""
    context = EXPECTED[which][0].context
    parsed = parse(said, context.world)
    assert all(0 <= element.start < element.end <= len(parsed.words) for element in parsed.elements)
    answer = answer_to(read_message(said, context.world), context)
    assess(answer, answer.model_call)


def test_the_oracle_takes_every_model_call() -> None:
    for expected, after in EXPECTED:
        if assess(expected, expected.model_call).accepted:
            fault = Meaning(expected, after, expected.model_call).fault()
            assert not fault, (expected.name, expected.model_call)


def test_the_oracle_finds_what_is_wrong() -> None:
    for expected, after in EXPECTED:
        own, model = in_figures(expected.context.callsign).strip(), in_figures(expected.model_call)
        if expected.silence is Silence.REQUIRED:
            assert Meaning(expected, after, f"{own} wilco").fault()
            continue
        for other in ("sable 2 2", "sable 9 3", "heron 2 1", "sable", "sable 2 1 2 1"):
            assert Meaning(expected, after, model.replace(own, other)).fault()
        if not any(slot.kind is Kind.CLEARANCE for slot in expected.slots):
            assert Meaning(expected, after, f"{model} cleared for the option").fault()
        if any(slot.kind is Kind.RUNWAY for slot in expected.slots):
            assert Meaning(expected, after, f"{model} runway three six").fault()
        must = [s for s in expected.slots if s.missing in (Severity.CRITICAL, Severity.MAJOR) and s.accept]
        if any(slot.kind is not Kind.CALLSIGN for slot in must):
            assert Meaning(expected, after, own).fault()


@share(0.6)
@given(data=st.data(), which=expectations)
def test_a_spoilt_model_call_passes_only_if_the_meaning_is_left(data: st.DataObject, which: int) -> None:
    said = data.draw(spoilt(EXPECTED[which][0].model_call or "sable two one wilco"))
    judge(which, said)
    read(said, which)


@share(0.25)
@given(which=expectations, said=any_words)
def test_words_at_random_pass_only_with_a_meaning(which: int, said: str) -> None:
    judge(which, said)
    read(said, which)


@share(0.15)
@given(which=expectations, said=any_text)
def test_any_text_and_bytes_are_judged(which: int, said: str) -> None:
    judge(which, said)
    read(said, which)
