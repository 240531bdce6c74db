"""Field files: Corbel Field is as the domain has it, and every slip is named at its place."""

from collections.abc import Callable
from pathlib import Path

import pytest

from drills.check import check_file, load_field
from drills.errors import UnknownName

Changed = Callable[[str, str, str], list[str]]
Make = Callable[..., Path]


def test_corbel_field() -> None:
    field = load_field("corbel")
    assert (field.field, field.tower, field.standard) == ("Corbel Field", "Corbel Tower", "us_military_tower")
    assert field.elevation_ft == 1180
    assert field.overhead_altitude_ft == 2700
    assert field.conventional_altitude_ft == 2200
    assert field.breakout_altitude_ft == 3700
    assert {end.end: (end.heading_deg, end.length_ft, end.break_side) for end in field.runways} == {
        "13": (130, 9000, "right"),
        "31": (310, 9000, "left"),
    }
    assert {name: (point.bearing_deg, point.distance_nm) for name, point in field.points.items()} == {
        "QUARRY": (270, 8),
        "SILO": (45, 7),
        "WEIR": (135, 9),
    }


def test_a_failed_look_up_lists_the_choices() -> None:
    field = load_field("corbel")
    assert field.runway("31").break_side == "left"
    assert field.point("SILO").distance_nm == 7
    with pytest.raises(UnknownName, match='no runway at Corbel Field "08"; write one of: 13, 31') as no:
        field.runway("08")
    assert no.value.choices == ("13", "31")
    with pytest.raises(UnknownName, match='did you mean "QUARRY"\\? The choices are: QUARRY, SILO, WEIR'):
        field.point("QUARY")
    with pytest.raises(UnknownName, match='no field "corbell"; did you mean "corbel"'):
        load_field("corbell")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"31"', "31", '20:11: error: end: YAML does not read a bare 31 as text; write it in quotes: "31".'),
        (
            '"13"',
            '"37"',
            '19:11: error: "37" is not a runway end; write 1 to 36 and L, C or R if needed, as in "31".',
        ),
        (
            "break: left",
            "break: lft",
            '20:59: error: break cannot be "lft"; did you mean "left"? The choices are: ',
        ),
        (
            "break: left",
            "brake: left",
            '20:52: error: "brake" is not a key here; write "break" or delete it.',
        ),
        (
            "limit: 4",
            "limit: four",
            '15:8: error: limit cannot be "four"; write a whole number without quotes',
        ),
        ("limit: 4", "limit: 0", '15:8: error: limit cannot be "0"; write a number of at least 1.'),
        ("limit: 4", "limit: 4.5", '15:8: error: limit cannot be "4.5"; write a whole number without quotes'),
        ("2.5", '"2.5"', "12:20: error: outside_offset_nm cannot be "),
        ("2.5", "no", '12:20: error: outside_offset_nm cannot be "no"; write a number without quotes'),
        ("1180", "0700", '6:15: error: elevation_ft cannot be "0700"; write a whole number without quotes'),
        (
            "limit: 4\n",
            "",
            '1:1: error: "limit" is missing; add "limit: ..." (The most aircraft in the overhead',
        ),
        (
            "QUARRY",
            "Quarry",
            '23:3: error: "Quarry" is not a point name; write one word of 3 to 12 capital letters.',
        ),
        (
            "{bearing_deg: 45, distance_nm: 7}",
            "north",
            '24:9: error: SILO cannot be "north"; write a group of keys',
        ),
        (
            "Corbel Tower",
            "118.10",
            "2:8: error: tower: YAML does not read a bare 118.10 as text; write it in",
        ),
        (
            "us_military_tower",
            "us_militery_tower",
            '3:11: error: standard cannot be "us_militery_tower"; did you mean "us_military',
        ),
        (
            "overhead_altitude_ft: 2700",
            "overhead_altitude_ft: 2699",
            "7:23: warning: overhead_altitude_ft 2699 is less than 500 ft above the conventional pattern "
            "at 2200 (FAA Pilot/Controller Glossary, overhead maneuver); write 2700 or more",
        ),
        (
            "breakout_altitude_ft: 3700",
            "breakout_altitude_ft: 2700",
            "9:23: warning: breakout_altitude_ft 2700 is",
        ),
        (
            "conventional_altitude_ft: 2200",
            "conventional_altitude_ft: 1180",
            "8:27: error: conventional_altitude_ft 1180 is not above the field elevation 1180; ",
        ),
        (
            "\ninitial_nm: 5",
            "\ninitial_nm: 5.1",
            "13:13: warning: initial_nm 5.1 is not 3 to 5 (FAA Pilot/Controller",
        ),
        (
            "report_initial_nm: 3",
            "report_initial_nm: 5.5",
            "14:20: error: report_initial_nm 5.5 lies before initial begins, at 5; write 5 or less.",
        ),
        (
            "heading_deg: 310",
            "heading_deg: 321",
            "20:30: error: heading_deg 321 does not fit runway 31, whose number",
        ),
        ('"13"', '"31"', "20:11: error: runway 31 is listed twice; keep one of the two."),
        (
            "heading_deg: 130",
            "heading_deg: 128",
            "20:30: error: 31 and 13 are one runway, but their headings are not opposite; write 308.",
        ),
        (
            "130, length_ft: 9000",
            "130, length_ft: 8000",
            "20:46: error: 31 and 13 are one runway, but 13 is 8000 ft long; write the same length for both.",
        ),
    ],
)
def test_slips_in_a_field(changed: Changed, corbel: str, old: str, new: str, said: str) -> None:
    findings = changed(corbel, old, new)
    assert any(finding.startswith(said) for finding in findings), findings


@pytest.mark.parametrize(("end", "heading"), [("36", "4"), ("1", "360"), ("22", "230"), ("31L", "300")])
def test_headings_that_fit_their_runway(changed: Changed, corbel: str, end: str, heading: str) -> None:
    assert changed(corbel, '"13", heading_deg: 130', f'"{end}", heading_deg: {heading}') == []


def test_one_misspelt_key_is_one_finding(changed: Changed, corbel: str) -> None:
    assert changed(corbel, "elevation_ft", "elevaton_ft") == [
        '6:1: error: "elevaton_ft" is not a key here; write "elevation_ft" or delete it.'
    ]


def test_every_slip_is_listed_in_file_order(make: Make, corbel: str) -> None:
    text = corbel.replace("limit: 4", "limit: four").replace('"31"', "31").replace("1180", "high")
    lines = [finding.line for finding in check_file(make(text))]
    assert lines == [6, 15, 20]


def test_a_field_is_loaded_from_a_path(make: Make, corbel: str) -> None:
    path = make(corbel.replace("Corbel", "Elsewhere"), "elsewhere.yaml")
    assert load_field(path).tower == "Elsewhere Tower"
    assert load_field(str(path)).tower == "Elsewhere Tower"
