"""`patternvoice new-field`: a field file from a few questions, or from options alone.

What is not given as an option is asked for. The finished text is checked as `patternvoice check` does;
an answer that is out of sense is refused with the reason, and asked for again if it was typed.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from drills.check import Examined, examine
from drills.errors import DrillError, Finding, Severity
from drills.loader import Document, parse
from trainer.airports import Airport, Variation, as_bearing, find_airport, has_coordinates, variation
from trainer.commands.check import complete
from trainer.commands.field_options import FieldOptions
from trainer.errors import TrainerError

Ask = Callable[[str], str]
"""Puts a question and gives the line that was typed; EOFError where nobody answers."""

QUESTIONS: dict[str, str] = {
    "name": "Name of the field (Corbel Field)",
    "runway": "Runway end in use (31)",
    "heading": "Its magnetic heading, degrees (empty: as painted)",
    "length": "Its length, feet (9000)",
    "side": "Break on this end, left or right",
    "elevation": "Field elevation, feet above sea level (1180)",
    "pattern_altitude": "Altitude of the overhead pattern, feet above sea level (2700)",
    "conventional_altitude": "Altitude of the conventional pattern (empty: 500 ft below the overhead)",
    "breakout_altitude": "Altitude climbed to on a breakout (empty: 1,000 ft above the overhead)",
    "point": "Entry point, its magnetic bearing and miles from the field (QUARRY 270 8; empty: no more)",
}
"""In the order in which they are asked."""

_MAY_BE_EMPTY = frozenset({"heading", "conventional_altitude", "breakout_altitude"})
_ASKED_FOR = {
    "field": "name",
    "elevation_ft": "elevation",
    "overhead_altitude_ft": "pattern_altitude",
    "conventional_altitude_ft": "conventional_altitude",
    "breakout_altitude_ft": "breakout_altitude",
    "points": "point",
}
"""Which question a key of the file comes from; a runway's keys have the names of their questions."""
_NO_POINT = '"{}" is no entry point: write name, bearing and miles, as in QUARRY 270 8'
_POINT = re.compile(r"(\S+)[ ,:]+([0-9.]+)[ ,:]+([0-9.]+)")

_Answers = dict[str, str | tuple[str, ...]]


def new_field(out: Path | None, options: FieldOptions, ask: Ask, say: Callable[[str], None]) -> Path:
    """Write the field file and give its path. TrainerError for what is refused, or not answered.

    `out` None: named after the field, here. Warnings are said, and the file is written all the same.
    """
    _refuse_what_is_wrong_alone(options)
    place = _place(options, ask, say) if options.airport else None
    if place is not None:
        options = place.fill_in(options)
    given = _given(options)
    answers = dict(given)
    for name in QUESTIONS:
        if name not in answers:
            answers[name] = _asked(name, ask, say, place)
    while True:
        text = field_text(answers, options, place)
        findings = _findings(text, complete)
        errors = [finding for finding in findings if finding[1].severity is Severity.ERROR]
        if not errors:
            break
        for question, error in errors:
            if question is None or question in given:
                raise TrainerError(error.message, error.remedy)
            say(f"{error.message}; {error.remedy}.")
        for question in dict.fromkeys(question for question, _ in errors if question is not None):
            answers[question] = _asked(question, ask, say, place)
    for _, warning in findings:
        say(f"warning: {warning.message}; {warning.remedy}.")
    path = out or Path(_file_name(str(answers["name"])))
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise TrainerError(f"{path} is there already", "name another file with --out") from None
    return path


def _given(options: FieldOptions) -> _Answers:
    return {name: value for name in QUESTIONS if (value := getattr(options, name))}


def _refuse_what_is_wrong_alone(options: FieldOptions) -> None:
    """Before anything is asked: TrainerError for an option that no answer could put right."""
    given = _given(options)
    points = tuple(point for point in options.point if not has_coordinates(point))
    text = field_text({**_stand_ins(given), **given, "point": points or ("QUARRY 270 8",)}, options)
    for question, finding in _findings(text, lambda found: found):
        if finding.severity is Severity.ERROR and (question is None or question in given):
            raise TrainerError(finding.message, finding.remedy)


def _stand_ins(given: _Answers) -> _Answers:
    """Answers that go with what is given, for the questions that are not answered yet."""
    heading = str(given.get("heading", "310"))
    runway = "31"
    if heading.isdecimal():
        runway = f"{round(int(heading) / 10) % 36 or 36:02d}"
    kinds = ("elevation", "conventional_altitude", "pattern_altitude", "breakout_altitude")
    feet = {name: int(value) for name in kinds if (value := str(given.get(name, ""))).isdecimal()}
    top = feet.get("breakout_altitude")
    floor = max(feet.get("elevation", 0), feet.get("conventional_altitude", 0))
    pattern = feet.get("pattern_altitude") or ((floor + top) // 2 if top and top > floor else floor + 1500)
    ground = min(feet.get("conventional_altitude", pattern), pattern) - 1000
    return {
        "name": "Corbel Field",
        "runway": runway,
        "heading": "",
        "length": "9000",
        "side": "left",
        "elevation": str(ground),
        "pattern_altitude": str(pattern),
        "conventional_altitude": str((feet.get("elevation", ground) + pattern) // 2),
        "breakout_altitude": str(pattern + 1000),
    }


@dataclass(frozen=True)
class _Place:
    """Where the field lies, from public data, with the variation there."""

    airport: Airport
    variation: Variation

    def fill_in(self, options: FieldOptions) -> FieldOptions:
        """The options with what the data knows; what was said goes before it."""
        return replace(
            options,
            name=options.name or self.airport.name,
            elevation=options.elevation or str(self.airport.elevation_ft),
            point=tuple(self.by_bearing(point) for point in options.point),
        )

    def by_bearing(self, point: str) -> str:
        return as_bearing(point, self.airport, self.variation) if has_coordinates(point) else point

    def __str__(self) -> str:
        north, east = self.airport.latitude, self.airport.longitude
        where = f"{abs(north):.4f}{'N' if north >= 0 else 'S'} {abs(east):.4f}{'E' if east >= 0 else 'W'}"
        return f"{self.airport.code} at {where}, magnetic variation {self.variation}"


def _place(options: FieldOptions, ask: Ask, say: Callable[[str], None]) -> _Place:
    """The airport and its variation: as it was said, by the magnetic model, or asked for."""
    assert options.airport is not None
    airport = find_airport(options.airport)
    found = None if options.variation is not None else variation(airport, date.today())
    if found is None:
        typed = options.variation
        try:
            typed = (
                typed if typed is not None else ask("Magnetic variation there, degrees, east positive (-1.5)")
            )
            degrees = float(typed)
        except (EOFError, ValueError):
            raise TrainerError(
                "the magnetic variation is not known", "give it: --variation=-1.5 is 1.5 west"
            ) from None
        if not -180.0 <= degrees <= 180.0:
            raise TrainerError(
                f"a variation of {degrees:g} degrees is none", "write -180 to 180, east positive"
            )
        found = Variation(degrees, "as said")
    place = _Place(airport, found)
    say(f"{airport.name}, {place}, elevation {airport.elevation_ft} ft. The data has no runways.")
    return place


def _asked(
    name: str, ask: Ask, say: Callable[[str], None], place: _Place | None = None
) -> str | tuple[str, ...]:
    """The answer to one question; the points are asked for until an empty line."""
    points: list[str] = []
    try:
        while True:
            line = ask(QUESTIONS[name]).strip()
            if name != "point":
                if line or name in _MAY_BE_EMPTY:
                    return line
            elif place is not None and has_coordinates(line):
                points.append(place.by_bearing(line))
            elif _POINT.fullmatch(line):
                points.append(line)
            elif line:
                say(_NO_POINT.format(line))
            elif points:
                return tuple(points)
    except EOFError:
        if name in _MAY_BE_EMPTY or points:
            return tuple(points) or ""
        option = "--" + name.replace("_", "-")
        what = QUESTIONS[name].split(" (")[0]
        raise TrainerError(f"{what}: no answer", f"answer, or give {option}") from None


def _findings(text: str, more: Callable[[Examined], Examined]) -> list[tuple[str | None, Finding]]:
    """What is wrong with the text, each with its question (None: from none). `more` looks further."""
    try:
        document = parse(text.encode(), "the field")
    except DrillError as error:
        return [(None, error.finding)]
    return [(_question_at(finding, document), finding) for finding in more(examine(document)).findings]


def _question_at(finding: Finding, document: Document) -> str | None:
    before = [path for path, at in document.keys.items() if at <= (finding.line, finding.column)]
    path = max(before, key=lambda each: document.keys[each], default=())
    if not path:
        return None
    if path[0] == "runways":
        last = {"end": "runway", "break": "side"}.get(str(path[-1]), str(path[-1]).removesuffix("_ft"))
        last = last.removesuffix("_deg")
        return last if last in QUESTIONS else "runway"
    return _ASKED_FOR.get(str(path[0]))


# -- the text ------------------------------------------------------------------------------------------


def field_text(answers: _Answers, options: FieldOptions, place: _Place | None = None) -> str:
    """The file, laid out as the bundled ones are. What is no number stays as it was typed, to be refused."""
    name = str(answers["name"])
    overhead = str(answers["pattern_altitude"])
    conventional = answers["conventional_altitude"] or _plus(overhead, -500)
    breakout = answers["breakout_altitude"] or _plus(overhead, 1000)
    short = name
    for ending in (" Field", " Airfield", " Airport", " International", " Air Base"):
        short = short.removesuffix(ending)
    tower = options.tower or f"{short} Tower"
    lines = [
        *([f"# {place}. Headings and bearings are magnetic.", ""] if place else []),
        f"field: {_quoted(name)}",
        f"tower: {_quoted(tower)}",
        f"standard: {options.standard}",
        "",
        "# Altitudes are above sea level.",
        f"elevation_ft: {answers['elevation']}",
        f"overhead_altitude_ft: {overhead}",
        f"conventional_altitude_ft: {conventional}",
        f"breakout_altitude_ft: {breakout}",
        "",
        f"outside_offset_nm: {options.outside_offset}",
        f"initial_nm: {options.initial}",
        f"report_initial_nm: {options.report_initial}",
        f"limit: {options.limit}",
        f"minimum_separation_nm: {options.separation}",
        "",
        "runways:",
        *_runways(answers, one_way=options.one_way),
        "",
        "points:",
        *(_point(line) for line in answers["point"]),
    ]
    return "\n".join(lines) + "\n"


def _runways(answers: _Answers, *, one_way: bool) -> list[str]:
    """The end in use last: that is what `fly` takes. The other end breaks to the same side of the field."""
    end, side, length = (str(answers[name]) for name in ("runway", "side", "length"))
    number, letter = end.rstrip("LRC"), end.lstrip("0123456789")
    heading = str(answers["heading"]) or (str(int(number) * 10) if number.isdecimal() else "0")
    ends = [(end, heading, side)]
    if not one_way and number.isdecimal() and heading.replace(".", "", 1).isdecimal():
        opposite = (int(number) + 17) % 36 + 1
        other_end = f"{opposite:0{len(number)}d}" + {"L": "R", "R": "L"}.get(letter, letter)
        other_side = {"left": "right", "right": "left"}.get(side, side)
        ends.insert(0, (other_end, f"{(float(heading) + 180.0) % 360.0 or 360.0:g}", other_side))
    return [
        f"  - {{end: {_quoted(end)}, heading_deg: {heading}, length_ft: {length}, break: {side}}}"
        for end, heading, side in ends
    ]


def _point(line: str) -> str:
    found = _POINT.fullmatch(line.strip())
    if not found:
        raise TrainerError(
            f'"{line}" is no entry point', 'write name, bearing and miles, as in "QUARRY 270 8"'
        )
    return f"  {found[1].upper()}: {{bearing_deg: {found[2]}, distance_nm: {found[3]}}}"


def _plus(number: str, more: int) -> str:
    return str(int(number) + more) if number.lstrip("-").isdecimal() else number


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _file_name(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") + ".yaml"
