"""`patternvoice simulate`: its account, its files, and its one sentence for bad input."""

import json
import xml.etree.ElementTree as ElementTree

import pytest

from trainer.cli import main

SHORT = {"--hours": "0.2", "--demand": "12", "--seed": "2"}


def run(*arguments: str) -> int:
    usual = [word for key, value in SHORT.items() if key not in arguments for word in (key, value)]
    with pytest.raises(SystemExit) as ended:
        main(["simulate", *usual, *arguments])
    return int(ended.value.code or 0)


def test_it_counts_replies_by_reason_and_landings_an_hour(capsys) -> None:
    assert run("--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["field"] == "Corbel Field"
    assert sum(found["replies"].values()) == sum(
        count for reasons in found["reasons"].values() for count in reasons.values()
    )
    assert found["replies"]
    assert found["minimum_separation_nm"] == 0.5
    assert found["landings_per_hour"] >= 0


def test_the_same_seed_writes_the_same_bytes(tmp_path, capsys) -> None:
    first, second = tmp_path / "first.jsonl", tmp_path / "second.jsonl"
    assert run("--log", str(first)) == 0
    assert run("--log", str(second)) == 0
    assert first.read_bytes() == second.read_bytes()
    assert {json.loads(line)["event"] for line in first.read_text().splitlines()} >= {"Arrived", "LegEntered"}


def test_the_drawing_has_a_track_of_every_aircraft_that_flew(tmp_path, capsys) -> None:
    drawing = tmp_path / "tracks.svg"
    assert (
        run("--json", "--svg", str(drawing), "--field", "wickstone", "--runway", "26L", "--wind", "240/15")
        == 0
    )
    found = json.loads(capsys.readouterr().out)
    root = ElementTree.parse(drawing).getroot()
    lines = root.findall(".//{http://www.w3.org/2000/svg}polyline")
    assert len(lines) >= found["aircraft"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--hours", "0"), "cannot simulate 0 hours"),
        (("--demand", "0"), "no traffic of 0 aircraft an hour"),
        (("--field", "nowhere"), "nowhere"),
        (("--runway", "44"), "44"),
        (("--wind", "strong"), "strong"),
    ],
)
def test_bad_input_is_one_sentence(arguments, says, capsys) -> None:
    assert run(*arguments) == 2
    complaint = capsys.readouterr().err
    assert says in complaint
    assert complaint.count("\n") == 1
