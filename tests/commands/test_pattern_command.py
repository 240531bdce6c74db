"""`patternvoice pattern`: figures, JSON and the drawing, from outside; one sentence for every bad input."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from drills.check import load_field
from trainer.cli import main
from trainer.drawing.parallels import parallels
from trainer.drawing.pattern import draw
from trainer.live.route import route_with
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES
from trainer.pattern.summary import figures

SVG = "{http://www.w3.org/2000/svg}"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def of(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main(["pattern", *arguments])
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return of


def drawn(
    runway: str, wind: str, aircraft: str = "turboprop trainer", field: str = "corbel"
) -> ElementTree.Element:
    plan = PatternPlan.of(load_field(field), runway, wind)
    return ElementTree.fromstring(draw(plan, figures(plan, PROFILES[aircraft]), "A <title> & more"))


def points(element: ElementTree.Element) -> list[tuple[float, float]]:
    return [tuple(map(float, pair.split(","))) for pair in element.attrib["points"].split()]  # type: ignore[misc]


def test_the_table_says_what_the_trade_asks(run: Run) -> None:
    status, out, _ = run("corbel", "--runway", "31", "--class", "turboprop_trainer")
    assert status == 0
    for line in (
        "perch                        1.26 NM back, the threshold 45° behind abeam",
        "roll-out                     1.26 NM out, 451 ft above the field",
        "break turn             1.98   43         2700  208 → 125     0.63   45°  1.41",
        "final turn             1.98   61  2700 → 1631  125 → 108     0.63   20°  1.06",
    ):
        assert line in out


def test_json_has_the_legs_once_round_by_closed_and_by_the_outside(run: Run) -> None:
    status, out, _ = run("wickstone", "--runway", "08R", "--class", "fast-jet", "--wind", "120/25", "--json")
    found = json.loads(out)
    assert status == 0
    assert (found["field"], found["runway"], found["side"]) == ("Wickstone", "08R", "right")
    assert (found["headwind_kt"], found["crosswind_from_right_kt"]) == pytest.approx((19.15, 16.07), abs=0.01)
    assert [leg["leg"] for leg in found["legs"]] == [
        "initial",
        "break_turn",
        "inside_downwind",
        "final_turn",
        "final",
        "runway",
        "departure",
        "closed_pull_up",
        "closed_downwind",
        "departure",
        "crosswind",
        "outside_downwind",
        "ninety_to_initial",
        "forty_five_to_initial",
    ]
    assert all("places" not in leg for leg in found["legs"])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("corbell",), 'there is no field "corbell"'),
        (("corbel", "--runway", "32"), 'there is no runway at Corbel Field "32"'),
        (("corbel", "--class", "glider"), 'no class of aircraft "glider": use one of turboprop_trainer'),
        (("corbel", "--wind", "brisk"), 'no wind "brisk": write direction and knots'),
        (("corbel", "--wind", "310/60"), "a wind of 60 kt cannot be flown"),
        (("corbel", "--svg", "/nowhere/at/all.svg"), "see to this file or folder"),
    ],
)
def test_bad_input_gets_one_sentence(run: Run, arguments: tuple[str, ...], message: str) -> None:
    status, out, err = run(*arguments)
    assert status == 2
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert not out


def test_the_drawing_is_written_where_it_was_asked(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "corbel.svg"
    status, out, _ = run("corbel", "--svg", str(file))
    assert status == 0
    assert out.rstrip().endswith(str(file))
    assert ElementTree.fromstring(file.read_text(encoding="utf-8")).tag == f"{SVG}svg"


@pytest.mark.parametrize(("field", "runway"), [("corbel", "31"), ("corbel", "13"), ("wickstone", "26R")])
def test_the_drawing_names_the_legs_as_the_trade_does(field: str, runway: str) -> None:
    words = {each.text for each in drawn(runway, "calm", field=field).iter(f"{SVG}text")}
    assert words >= {
        "initial",
        "break",
        "inside downwind",
        "perch",
        "final turn",
        "roll-out",
        "final",
        "departure leg",
        "closed pull-up",
        "closed downwind",
        "crosswind",
        "outside downwind",
        "90 to initial",
        "45 to initial",
        "calm",
        "A <title> & more",
    }
    assert {runway, {"31": "13", "13": "31", "26R": "08L"}[runway]} <= words


@pytest.mark.parametrize("runway", ["31", "13"])
def test_the_drawing_is_north_up_and_to_its_scale(runway: str) -> None:
    """The runway's 9,000 ft and its heading, measured on the paper with the scale bar's 2 NM."""
    lines = list(drawn(runway, "calm").iter(f"{SVG}polyline"))
    strip = points(next(line for line in lines if line.attrib["stroke-width"] == "11"))
    bar = next(points(line) for line in lines if line.attrib["stroke-width"] == "1.5")
    (x, y), (to_x, to_y) = strip
    heading = math.degrees(math.atan2(to_x - x, y - to_y)) % 360.0
    assert heading == pytest.approx(float(runway) * 10.0, abs=0.2)
    per_nm = (bar[1][0] - bar[0][0]) / 2.0
    assert math.hypot(to_x - x, to_y - y) / per_nm == pytest.approx(9_000.0 * 0.3048 / 1852.0, abs=0.01)


@pytest.mark.parametrize("aircraft", PROFILES)
@pytest.mark.parametrize("wind", ["calm", "040/30", "220/30"])
def test_nothing_is_drawn_off_the_paper(aircraft: str, wind: str) -> None:
    root = drawn("31", wind, aircraft)
    width, height = map(float, root.attrib["viewBox"].split()[2:])
    for line in root.iter(f"{SVG}polyline"):
        for x, y in points(line):
            assert 0.0 <= x <= width
            assert 0.0 <= y <= height


@pytest.mark.parametrize("leg", Leg)
def test_every_leg_has_a_route_to_show(leg: Leg) -> None:
    assert leg in route_with(leg)


def test_parallels_are_drawn_together_and_as_far_apart_as_the_file_says() -> None:
    """Right is north of 26: 26R lies 3,000 ft to the right of 26L, measured on the paper."""
    field = load_field("wickstone")
    plan = PatternPlan.of(field, "26L")
    beside = parallels(field, plan, PROFILES["fast jet"], "calm")
    root = ElementTree.fromstring(draw(plan, figures(plan, PROFILES["fast jet"]), "both", beside))
    words = {each.text for each in root.iter(f"{SVG}text")}
    assert {"26L", "08R", "26R", "08L", "pattern of 26R"} <= words
    strips = {
        line.attrib["stroke-width"]: points(line)
        for line in root.iter(f"{SVG}polyline")
        if line.attrib["stroke-width"] in ("10", "11") and line.attrib["stroke"] != "#e3b23c"
    }
    (x, y), (to_x, to_y) = strips["11"]
    chosen, other = ([sum(each) / 2.0 for each in zip(*strips[width], strict=True)] for width in ("11", "10"))
    per_ft = math.hypot(to_x - x, to_y - y) / 6_500.0
    assert math.dist(chosen, other) / per_ft == pytest.approx(3_000.0, rel=0.01)
    assert other[1] < chosen[1]


def test_a_field_with_one_runway_or_without_their_distance_has_none_beside() -> None:
    corbel, wickstone = load_field("corbel"), load_field("wickstone")
    profile = PROFILES["fast jet"]
    assert parallels(corbel, PatternPlan.of(corbel, "31"), profile, "calm") == []
    unknown = wickstone.model_copy(update={"parallels_apart_ft": None})
    assert parallels(unknown, PatternPlan.of(unknown, "26L"), profile, "calm") == []
    (left,) = parallels(wickstone, PatternPlan.of(wickstone, "08R"), profile, "calm")
    assert left.plan.runway_end == "08L"
    assert left.north_nm > 0.0
