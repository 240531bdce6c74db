"""Drill files: the library is sound, names resolve, and every slip is named at its place."""

from collections.abc import Callable
from pathlib import Path
from typing import get_args

import pytest

from drills.check import check_file, drill_names, field_names, load_drill, load_field
from drills.drill import Drill
from drills.errors import DrillError, UnknownName
from drills.replies import BACK, CALL_POINTS, DETAILS, REPLIES, SILENCE, TAKES, CallPoint
from phraseology.replies import reply_kind

Changed = Callable[[str, str, str], list[str]]
Make = Callable[..., Path]


def test_the_library_is_sound() -> None:
    assert {"denied_three_ways", "first_flight", "similar_callsigns"} <= set(drill_names())
    assert field_names() == ("corbel", "wickstone")
    for name in drill_names():
        drill = load_drill(name)
        assert load_field(drill.field).runway(drill.runway)
        assert drill.circuits[-1] == "full_stop"


def test_the_library_has_no_warnings(make: Make) -> None:
    root = Path(__file__).parents[2] / "drills"
    for path in [*root.glob("library/*.yaml"), *root.glob("fields/*.yaml")]:
        assert check_file(path) == []


def test_first_flight_is_what_the_briefing_says() -> None:
    drill = load_drill("first_flight")
    assert (drill.callsign, drill.aircraft, drill.entry_point) == ("SABLE 21", "turboprop_trainer", "QUARRY")
    assert drill.circuits == ("touch_and_go", "touch_and_go", "full_stop")
    assert [(other.callsign, other.aircraft) for other in drill.traffic] == [("HERON 42", "jet_trainer")]
    assert [(step.on, step.occurrence, step.reply, step.point) for step in drill.tower] == [
        ("request_closed", 1, "closed_approved", None),
        ("request_closed", 2, "closed_denied_breakout", "QUARRY"),
    ]


def test_denied_three_ways_denies_in_three_ways() -> None:
    replies = [step.reply for step in load_drill("denied_three_ways").tower]
    assert replies == ["closed_denied_breakout", "closed_denied_climb_out", "closed_denied_outside"]


def test_similar_callsigns_differ_by_two_figures_swapped() -> None:
    drill = load_drill("similar_callsigns")
    assert drill.callsign == "SABLE 21"
    assert drill.traffic[0].callsign == "SABLE 12"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"31"', "31", '8:9: error: runway: YAML does not read a bare 31 as text; write it in quotes: "31".'),
        (
            '"29.92"',
            "29.92",
            "10:12: error: altimeter: YAML does not read a bare 29.92 as text; write it in quotes",
        ),
        (
            '"29.92"',
            '"2992"',
            '10:12: error: "2992" is not an altimeter setting; write inches of mercury from 28.00',
        ),
        ('"29.92"', '"27.99"', '10:12: error: "27.99" is not an altimeter setting; '),
        (
            "atis: alfa",
            "atis: alpha",
            '9:7: error: "alpha" is not a letter of the spelling alphabet; write one of: alfa, ',
        ),
        (
            "wind: calm",
            "wind: 3108",
            "11:7: error: wind: YAML",
        ),
        (
            "wind: calm",
            'wind: "310 at 8"',
            '11:7: error: "310 at 8" is not a wind; write where it comes from and its knots, "310/8"',
        ),
        (
            "wind: calm",
            "wind: 370/8",
            '11:7: error: the wind "370/8" comes from no direction; write 001 to 360, magnetic',
        ),
        ("wind: calm", "wind: 310/40", '11:7: error: the wind "310/40" cannot be flown; write 30 kt'),
        ("wind: calm", "wind: 310/15/8", '11:7: error: the wind "310/15/8" cannot be flown; write 30 kt'),
        (
            "field: corbel",
            "field: corbell",
            '7:8: error: there is no field "corbell"; did you mean "corbel"? The',
        ),
        (
            "field: corbel",
            "field: other.yaml",
            "7:8: error: its field cannot be used: there is no such file; see ",
        ),
        (
            '"31"',
            '"32"',
            '8:9: error: there is no runway at Corbel Field "32"; write one of: 13, 31.',
        ),
        (
            "entry_point: QUARRY",
            "entry_point: QUARY",
            '15:14: error: there is no entry point at Corbel Field "QUARY"',
        ),
        (
            "point: QUARRY\n    note",
            "point: WIER\n    note",
            '37:12: error: there is no entry point at Corbel Field "WIE',
        ),
        (
            "SABLE 21",
            "Sable 21",
            '13:11: error: "Sable 21" is not a military call sign (FAA JO 7110.65 2-4-9); write',
        ),
        (
            "SABLE 21",
            "MARTEN 21",
            "13:11: warning: MARTEN 21 has more than the 7 letters",
        ),
        ("SABLE 21", "SABLE", '13:11: error: "SABLE" is not a military call sign'),
        (
            "HERON 42",
            "SABLE 21",
            "23:15: error: SABLE 21 is already the trainee's call sign; give each aircraft its",
        ),
        (
            "jet_trainer",
            "glider",
            '24:15: error: aircraft cannot be "glider"; write turboprop_trainer, jet_trainer',
        ),
        (
            "starts: inside",
            "starts: outsid",
            '25:13: error: starts cannot be "outsid_downwind"; did you mean "out',
        ),
        ("pace: real", "pace: fast", '17:7: error: pace cannot be "fast"; write real, quick or patient.'),
        (
            "[touch_and_go, touch_and_go, full_stop]",
            "[full_stop, touch_and_go]",
            "20:12: error: a full_stop ends the flight, but more approaches follow; make it the last, or",
        ),
        (
            "[touch_and_go, touch_and_go, full_stop]",
            "[]",
            "20:11: error: circuits is an empty list; add an item.",
        ),
        (
            "[touch_and_go, touch_and_go, full_stop]",
            "full_stop",
            '20:11: error: circuits cannot be "full_stop"; write',
        ),
        (
            "altitude_ft: 3500",
            "altitude_ft: 1000",
            "16:14: error: altitude_ft 1000 is not above the field elevation",
        ),
        (
            "altitude_ft: 3500",
            "altitude: 3500",
            '16:1: error: "altitude" is not a key here; write "altitude_ft" or',
        ),
        ("after_s: 0", "after_s: -1", '26:14: error: after_s cannot be "-1"; write a number of at least 0.'),
        (
            "time_limit_minutes: 35",
            "time_limit_minutes: 15",
            "18:21: warning: the time limit 15 is shorter than the",
        ),
        (
            "closed_approved",
            "closed_aproved",
            '32:12: error: "closed_aproved" is no reply to request_closed; did you',
        ),
        (
            "reply: closed_approved",
            "reply: go_around",
            '32:12: error: "go_around" is no reply to request_closed, it belongs to gear_report and final; ',
        ),
        (
            "occurrence: 2",
            "occurrence: 1",
            "34:5: error: request_closed, occurrence 1, is answered by an earlier",
        ),
        (
            "occurrence: 2",
            "occurrence: 3",
            "35:17: warning: with 3 circuits closed is usually requested 2 times",
        ),
        (
            "occurrence: 2",
            "occurrence: 0",
            '35:17: error: occurrence cannot be "0"; write 1 for the first time',
        ),
        (
            "occurrence: 2",
            "occurrence: yes",
            '35:17: error: occurrence cannot be "yes"; write 1 for the first time',
        ),
        ("    point: QUARRY\n", "", '34:5: error: closed_denied_breakout needs a point; add "point: ..."'),
        (
            "reply: closed_approved",
            "reply: closed_approved\n    point: SILO",
            "33:12: error: closed_approved does not say a point; delete point.",
        ),
        (
            "on: request_closed",
            "on: closed",
            '30:9: error: on cannot be "closed"; write check_in, entry_point, ',
        ),
        (
            "goal: >",
            'goal: "\\ud800"\nnote: >',
            "2:7: error: an escape stands for half a character; write the character itself.",
        ),
        (
            "goal: >",
            'goal: "\\x1b[2J"\nnote: >',
            "2:7: error: the text holds a character that cannot be shown; delete it.",
        ),
        ("drill: First", "dril: First", '1:1: error: the first key is "dril"; write "drill".'),
        (
            "drill: First flight",
            "map: x\ndrill: F",
            '1:1: error: the first key is "map"; begin a drill with "drill:"',
        ),
    ],
)
def test_slips_in_a_drill(changed: Changed, first_flight: str, old: str, new: str, said: str) -> None:
    findings = changed(first_flight, old, new)
    assert any(finding.startswith(said) for finding in findings), findings


def test_an_error_stops_loading_and_says_what_the_checker_says(make: Make, first_flight: str) -> None:
    path = make(first_flight.replace('"31"', "31"))
    with pytest.raises(DrillError) as refused:
        load_drill(path)
    assert refused.value.finding == check_file(path)[0]
    assert str(refused.value).startswith(f"{path}:8:9: runway: YAML does not read a bare 31 as text; ")


def test_a_warning_does_not_stop_loading(make: Make, first_flight: str) -> None:
    path = make(first_flight.replace("time_limit_minutes: 35", "time_limit_minutes: 15"))
    assert [finding.severity for finding in check_file(path)] == ["warning"]
    assert load_drill(path).time_limit_minutes == 15


def test_a_field_file_is_found_beside_its_drill(make: Make, first_flight: str, corbel: str) -> None:
    make(corbel.replace("Corbel", "Elsewhere"), "elsewhere.yaml")
    drill = load_drill(make(first_flight.replace("field: corbel", "field: elsewhere.yaml")))
    assert load_field(drill.field).tower == "Elsewhere Tower"


def test_an_unknown_drill_lists_the_choices() -> None:
    with pytest.raises(UnknownName) as refused:
        load_drill("first_fligt")
    assert str(refused.value) == (
        'there is no drill "first_fligt"; did you mean "first_flight"? '
        f"The choices are: {', '.join(drill_names())}."
    )


def test_every_reply_is_accepted_with_exactly_what_it_takes(make: Make, first_flight: str) -> None:
    shown = {
        "point": "WEIR",
        "altitude_ft": "4000",
        "where": "midfield",
        "seconds": "5",
        "traffic": "HERON 42",
        "behind": "departure_end",
        "side": "left",
    }
    head = first_flight[: first_flight.index("tower:")]
    for call, replies in REPLIES.items():
        for reply in replies:
            takes = TAKES.get(reply, frozenset())
            step = f"tower:\n  - on: {call}\n    reply: {reply}\n"
            keys = {key: f"    {key}: {shown[key]}\n" for key in DETAILS}
            right = step + "".join(keys[key] for key in DETAILS if key in takes)
            assert check_file(make(head + right)) == []
            for key in DETAILS:
                wrong = step + "".join(keys[k] for k in DETAILS if (k in takes) != (k == key))
                assert len(check_file(make(head + wrong))) == 1


def test_the_reply_table_covers_the_calls() -> None:
    assert tuple(REPLIES) == CALL_POINTS == get_args(CallPoint)
    every = {reply for replies in REPLIES.values() for reply in replies}
    assert set(TAKES) <= every
    assert {key for takes in TAKES.values() for key in takes} == set(DETAILS)


def test_the_language_can_say_every_reply_to_that_call() -> None:
    said_as = {"report_initial": "report"}
    at_any_call = {"runway_change", "say_altitude", SILENCE}
    for call, replies in REPLIES.items():
        for reply in set(replies) - at_any_call - set(BACK):
            assert call in reply_kind(said_as.get(reply, reply)).answers, (call, reply)


def test_a_drill_is_not_changed_after_reading() -> None:
    drill = load_drill("first_flight")
    with pytest.raises(ValueError, match="frozen"):
        drill.runway = "13"
    assert Drill.model_config["extra"] == "forbid"
