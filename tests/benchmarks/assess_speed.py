"""How long the judge takes, and how well it judges, beside the string match that one might script instead.

    python tests/benchmarks/assess_speed.py [--rounds 5] [--errors]

Prints Markdown. The baseline compares what was said with the model call by `rapidfuzz` and accepts from a
threshold on, the best one for these very cases. It is given the words ready; the judge gets the written line
and has read it before (words are spelt out once a process). No figure here is asserted anywhere.
"""

import argparse
import gc
import importlib.util
import platform
import re
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from types import ModuleType

from rapidfuzz import fuzz

from phraseology.assess import assess
from phraseology.callkind import CRITICAL, MAJOR
from phraseology.calls import CALLS, expect
from phraseology.elements import Kind
from phraseology.expected import Context, Expected, Silence, Slot
from phraseology.parse import World, parse
from phraseology.readback import answer_to
from phraseology.render import say
from phraseology.replies import REPLIES, message
from phraseology.standards import STANDARDS, standard
from phraseology.words import tokens

CASES = Path(__file__).parent.parent / "phraseology" / "test_cases.py"


@dataclass(frozen=True)
class Case:
    """`right` is the label: whether the tower could act on it. `how` names the family of a variant."""

    expected: Expected
    said: str
    right: bool
    how: str = ""


# -- the instructor's cases, and others made by machine --------------------------------------------------


def written_cases() -> list[Case]:
    """Every case of tests/phraseology/cases, as its test reads it."""
    spec = importlib.util.spec_from_file_location("test_cases", CASES)
    assert spec is not None
    assert spec.loader is not None
    module = ModuleType("test_cases")
    module.__file__ = str(CASES)
    spec.loader.exec_module(module)
    rows = [param.values for param in module.cases()]
    return [Case(module.expected_of(file, case), case["said"], right) for file, case, right in rows]


OTHERS: dict[Kind, dict[str, str]] = {
    Kind.CLEARANCE: {"touch_and_go": "full_stop", "full_stop": "option", "option": "touch_and_go"},
    Kind.INTENTION: {"touch_and_go": "option", "full_stop": "touch_and_go"},
    Kind.RUNWAY: {"31": "13", "13": "31", "8 left": "8 right"},
    Kind.REPORT: {"SILO": "WEIR"},
    Kind.HOLD: {"SILO": "WEIR"},
    Kind.POINT: {"QUARRY": "SILO"},
    Kind.POSITION: {"initial": "base", "break": "initial", "final": "initial"},
    Kind.GEAR: {"down": "up"},
    Kind.SIDE: {"left": "right"},
    Kind.REQUEST: {"overhead": "straight_in"},
    Kind.CONDITION: {"after traffic initial": "after traffic final"},
    Kind.BREAK: {"midfield": "departure_end", "in 5": "in 6"},
    Kind.ACTION: {
        "going_around": "breaking_out",
        "breaking_out": "climbing_out",
        "climbing_out": "breaking_out",
    },
    Kind.TRAFFIC: {"in_sight": "not_in_sight", "not_in_sight": "in_sight"},
}
"""Another value for one that is expected; numbers get another last figure."""

LAST_FIGURE = frozenset({Kind.ALTIMETER, Kind.QNH, Kind.HEADING, Kind.FREQUENCY, Kind.SOULS})
FIELDS = {
    Kind.ALTITUDE: "3700",
    Kind.WIND: "310/8",
    Kind.ALTIMETER: "2992",
    Kind.QNH: "1013",
    Kind.REPORT: "SILO",
    Kind.BREAK: "midfield",
    Kind.CLEARANCE: "touch_and_go",
    Kind.SEQUENCE: "2",
    Kind.FOLLOW: "jet_trainer inside_downwind",
    Kind.SIDE: "left",
    Kind.CONDITION: "after traffic initial",
    Kind.HOLD: "SILO",
    Kind.UNAVAILABLE: "WEIR",
    Kind.ATIS: "alfa",
    Kind.ACTION: "breaking_out",
    Kind.TRAFFIC_INFORMATION: "jet_trainer initial 3",
    Kind.TIME: "0710",
    Kind.HEADING: "350",
    Kind.SPEED: "200",
    Kind.FREQUENCY: "118.1",
    Kind.READABILITY: "5",
}


def expectations() -> Iterator[Expected]:
    """Every call and every answer, in each standard, at a field that has it."""
    world = World(points=frozenset({"QUARRY", "SILO", "WEIR"}))
    for name, kind in STANDARDS.items():
        station, runway = ("corbel tower", "31") if name.startswith("us_") else ("wickstone tower", "08L")
        here = Context(
            standard(name), world, "SABLE 21", runway, station,
            intention="touch_and_go", point="QUARRY", altitude_ft=2700, distance_nm=3, atis="alfa",
            where="10 west", position="base", fuel_min=20, souls=2, nature="bird_strike",
        )  # fmt: skip
        for call in sorted(CALLS.keys() - kind.without_calls.keys()):
            yield expect(call, here)
        unused = Kind.QNH if kind.numbers.pressure == "altimeter" else Kind.ALTIMETER
        for reply in sorted(REPLIES.keys() - kind.without_replies.keys()):
            fields = {k: v for k, v in FIELDS.items() if k is not unused} | {Kind.RUNWAY: runway}
            if reply == "break_in":
                fields[Kind.BREAK] = "in 5"
            yield answer_to(message(reply, here.callsign, fields), here)
            yield answer_to(message(reply, "SABLE 12", fields), here)


def variants() -> Iterator[Case]:
    """Model calls changed in one way, so that the label is known by how they were made."""
    for expected in expectations():
        model = " ".join(tokens(expected.model_call))
        if expected.silence is Silence.REQUIRED:
            yield Case(expected, "", True, "silence, the message being another's")
            yield Case(expected, "sable two one wilco", False, "another's message answered")
            continue
        yield from rightly_changed(expected, model)
        yield from callsign_changed(expected, model)
        if expected.name == "challenge":
            continue
        for slot in expected.slots:
            if slot.missing in (CRITICAL, MAJOR) and slot.kind is not Kind.CALLSIGN and slot.say is not None:
                yield from element_changed(expected, slot, model)
        yield from something_added(expected, model)


def rightly_changed(expected: Expected, model: str) -> Iterator[Case]:
    def right(said: str, how: str) -> Iterator[Case]:
        if said != model:
            yield Case(expected, said, True, how)

    yield Case(expected, model, True, "the model call")
    words = model.split()
    middle = len(words) // 2
    yield from right(f"uh {model}", "a hesitation")
    yield from right(" ".join([*words[:middle], "um", *words[middle:]]), "a hesitation")
    yield from right(f"{model} please", "a courtesy")
    yield from right(model.replace("sable two one", "sable twenty one"), "group form")
    yield from right(
        model.replace("sable two one", "sable two two correction sable two one"), "callsign corrected"
    )
    yield from right(model.replace("three", "tree").replace("niner", "nine"), "other spellings of figures")
    yield from right(model.replace("gear down", "three down and locked"), "another form of the trade")
    yield from right(model.replace("full stop", "to land"), "another form of the trade")
    if not expected.ordered:
        rest = model.replace("sable two one", "").strip()
        yield from right(f"{rest} sable two one", "callsign last")
        if expected.refusable:
            yield from right("sable two one unable", "unable")
    elif not model.startswith(("corbel", "wickstone", "mayday")):
        yield from right(f"{expected.context.station} {model}", "the tower named")


def callsign_changed(expected: Expected, model: str) -> Iterator[Case]:
    if expected.silence is Silence.ALLOWED and model == "sable two one":
        return  # nothing need be said; leaving the name out leaves nothing
    for other in ("sable two two", "sable one two", "sable three one", "heron two one", "sable two"):
        yield Case(expected, model.replace("sable two one", other), False, "another callsign")
    said = " ".join(model.replace("sable two one", "").split())
    yield Case(expected, said, False, "callsign left out")


def element_changed(expected: Expected, slot: Slot, model: str) -> Iterator[Case]:
    assert slot.say is not None
    words = said_for(slot.kind, slot.say, expected)
    if words not in model:
        return
    yield Case(expected, " ".join(model.replace(words, "", 1).split()), False, "an element left out")
    if not expected.ordered and slot.kind not in (Kind.ACTION, Kind.REPORT, Kind.BREAK):
        yield Case(expected, "sable two one roger", False, "roger alone")
    other = other_value(slot)
    if other is not None and slot.accept is not None and other not in slot.accept:
        instead = said_for(slot.kind, other, expected)
        yield Case(expected, model.replace(words, instead, 1), False, "an element with another value")
        if slot.kind is not Kind.SIDE:  # a side alone behind the rest is no turn to that side
            yield Case(expected, f"{model} {instead}", False, "right, and also another value")


def said_for(kind: Kind, value: str, expected: Expected) -> str:
    return " ".join(tokens(say(kind, value, expected.context.standard)))


def other_value(slot: Slot) -> str | None:
    value = slot.say or ""
    if slot.kind in LAST_FIGURE:
        return value[:-1] + str((int(value[-1]) + 2) % 10 or 1)
    if slot.kind in (Kind.ALTITUDE, Kind.SPEED):
        return str(int(value) + 100)
    return OTHERS.get(slot.kind, {}).get(value)


def something_added(expected: Expected, model: str) -> Iterator[Case]:
    if not any(slot.kind is Kind.CLEARANCE for slot in expected.slots):
        yield Case(expected, f"{model} cleared to land", False, "a clearance that was not given")
    if expected.ordered and CALLS[expected.name].gear_is_up:
        yield Case(expected, f"{model} gear down", False, "gear down where it is up")
    if not re.search(r"\brunway\b", model):
        other = "runway one three" if expected.context.runway == "31" else "runway two six right"
        takes_runway = any(slot.kind is Kind.RUNWAY for slot in expected.slots)
        if takes_runway or not (expected.ordered or expected.name == "answer_to_go_ahead"):
            yield Case(expected, f"{model} {other}", False, "another runway")


# -- measuring -------------------------------------------------------------------------------------------

Match = Callable[[str, str], float]
MATCHES: dict[str, Match] = {"ratio": fuzz.ratio, "token_sort_ratio": fuzz.token_sort_ratio}


def milliseconds(cases: list[Case], rounds: int, judge: Callable[[Case], object]) -> list[float]:
    """The shortest of some rounds for each case: what the others add is the rest of the machine."""
    best = [float("inf")] * len(cases)
    for _ in range(rounds + 1):  # the first one warms up
        for number, case in enumerate(cases):
            start = time.perf_counter_ns()
            judge(case)
            best[number] = min(best[number], (time.perf_counter_ns() - start) / 1e6)
    return best


def spoken(case: Case) -> tuple[str, str]:
    """The words said and those of the model call."""
    return " ".join(tokens(case.said)), " ".join(tokens(case.expected.model_call))


def errors(cases: list[Case], accepted: list[bool]) -> tuple[int, int]:
    """Wrong accepts, wrong rejects."""
    return (
        sum(yes and not case.right for case, yes in zip(cases, accepted, strict=True)),
        sum(case.right and not yes for case, yes in zip(cases, accepted, strict=True)),
    )


def best_thresholds(cases: list[Case], scores: list[float]) -> tuple[float, float]:
    """That with the fewest errors, and the lowest with no wrong accept."""
    steps = [*sorted(set(scores)), 100.1]
    fewest = min(steps, key=lambda step: sum(errors(cases, [score >= step for score in scores])))
    strict = next(step for step in steps if not errors(cases, [score >= step for score in scores])[0])
    return fewest, strict


def row(name: str, cells: list[object]) -> str:
    return f"| {name} | " + " | ".join(str(cell) for cell in cells) + " |"


def table_of_times(cases: list[Case], rounds: int) -> None:
    print(f"\n## Time a call, ms ({len(cases)} cases, one core, shortest of {rounds + 1} rounds)\n")
    print("| | median | p99 | longest | times the median of ratio |\n|---|---|---|---|---|")
    texts = {id(case): spoken(case) for case in cases}
    ways: dict[str, Callable[[Case], object]] = {
        "assess": lambda case: assess(case.expected, case.said),
        "of which parse": lambda case: parse(case.said, case.expected.context.world),
        "rapidfuzz ratio": lambda case: fuzz.ratio(*texts[id(case)]),
        "rapidfuzz token_sort_ratio": lambda case: fuzz.token_sort_ratio(*texts[id(case)]),
    }
    taken = {name: sorted(milliseconds(cases, rounds, judge)) for name, judge in ways.items()}
    base = median(taken["rapidfuzz ratio"])
    for name, times in taken.items():
        p99 = times[round(0.99 * (len(times) - 1))]
        print(
            row(name, [*(f"{t:.4f}" for t in (median(times), p99, times[-1])), f"{median(times) / base:.0f}"])
        )


def table_of_errors(title: str, cases: list[Case], thresholds: dict[str, tuple[float, float]]) -> list[Case]:
    """Prints the table; returns the cases on which the judge and the label differ."""
    right = sum(case.right for case in cases)
    print(f"\n## {title} ({right} to accept, {len(cases) - right} to reject)\n")
    print("| | wrongly accepted | wrongly rejected |\n|---|---|---|")
    accepted = [assess(case.expected, case.said).accepted for case in cases]
    print(row("assess", [*errors(cases, accepted)]))
    for name, match in MATCHES.items():
        scores = [match(*spoken(case)) for case in cases]
        own = best_thresholds(cases, scores)
        given = thresholds.setdefault(name, own)
        steps = [("best here", own[0]), ("none wrongly accepted here", own[1])]
        if given != own:
            steps += [("best of the written cases", given[0]), ("strict of the written cases", given[1])]
        for how, step in steps:
            wrong = errors(cases, [score >= step for score in scores])
            print(row(f"rapidfuzz {name} from {step:.1f}, {how}", [*wrong]))
    return [case for case, yes in zip(cases, accepted, strict=True) if yes is not case.right]


def main() -> int:
    options = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    options.add_argument("--rounds", type=int, default=5, help="timed rounds over all cases")
    options.add_argument("--errors", action="store_true", help="list where the judge and the label differ")
    chosen = options.parse_args()
    written = written_cases()
    made = list({(id(case.expected), case.said): case for case in variants()}.values())
    print(f"Python {platform.python_version()}, {platform.machine()}")
    gc.freeze()
    table_of_times(written, chosen.rounds)
    thresholds: dict[str, tuple[float, float]] = {}
    differing = table_of_errors("The written cases", written, thresholds)
    differing += table_of_errors("Held out: variants made by machine", made, thresholds)
    if chosen.errors:
        print("\n## Where the judge and the label differ\n")
        for case in differing:
            label = "to accept" if case.right else "to reject"
            name = f"{case.expected.context.standard.name} {case.expected.name}"
            print(f'- {label}: {name}: "{case.said}" ({case.how}; model "{case.expected.model_call}")')
    return 0


if __name__ == "__main__":
    sys.exit(main())
