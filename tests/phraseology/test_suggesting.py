"""What is suggested for a name that is not known: the limit was chosen on these two tables.

Slips of the fingers (ours, from memory: letters left out, doubled, exchanged, one for another) and names that
mean something else or nothing. The likeness of the slips is 80 and more, of the others 71 and less.
"""

from collections.abc import Iterable

import pytest

from drills.check import drill_names, field_names
from phraseology.calls import CALLS, SHORT_NAMES
from phraseology.replies import REPLIES
from phraseology.suggesting import near, nearest

FILES = (*drill_names(), *field_names())
SLIPS = [
    ("gear_repot", CALLS, "gear_report"),
    ("gear reprot", CALLS, "gear_report"),
    ("intial", CALLS, "initial"),
    ("inital", CALLS, "initial"),
    ("fianl", CALLS, "final"),
    ("breakreport", CALLS, "break_report"),
    ("clsoed_downwind", CALLS, "closed_downwind"),
    ("chek-in", CALLS, "check_in"),
    ("CheckIn", CALLS, "check_in"),
    ("unabel", CALLS, "unable"),
    ("stanby", CALLS, "stand_by"),
    ("request close", CALLS, "request_closed"),
    ("emergncy", CALLS, "emergency"),
    ("mimimum_fuel", CALLS, "minimum_fuel"),
    ("crosswnd", CALLS, "crosswind"),
    ("climb_out", CALLS, "climbing_out"),
    ("go_arround", SHORT_NAMES, "go_around"),
    ("closed_aproved", REPLIES, "closed_approved"),
    ("say_agian", REPLIES, "say_again"),
    ("first_fligt", FILES, "first_flight"),
    ("frist flight", FILES, "first_flight"),
    ("korbel", FILES, "corbel"),
    ("corble", FILES, "corbel"),
    ("wickston", FILES, "wickstone"),
]
STRANGERS = [
    *(
        (word, CALLS)
        for word in ("bogus", "land", "takeoff", "taxi", "hello", "base", "test", "foo", "x", "")
    ),
    *((word, CALLS) for word in ("downwind", "pattern", "wilco", "squawk", "report", "contact", "runway")),
    *((word, CALLS) for word in ("initial_contact", "departure", "fuel", "gear")),
    *((word, REPLIES) for word in ("vacated", "landing_clearance")),
    *(
        (word, FILES)
        for word in ("heathrow", "london", "my_drill", "airport", "circuit", "lesson_one", "solo")
    ),
    *((word, FILES) for word in ("gatwick", "second", "first", "flight_one")),
]


@pytest.mark.parametrize(("slip", "among", "meant"), SLIPS)
def test_a_slip_is_put_right(slip: str, among: Iterable[str], meant: str) -> None:
    assert nearest(slip, among) == meant


@pytest.mark.parametrize(("stranger", "among"), STRANGERS)
def test_another_name_is_no_slip(stranger: str, among: Iterable[str]) -> None:
    assert near(stranger, among, 3) == []


def test_the_nearest_comes_first() -> None:
    assert near("closed_approved_wen", REPLIES, 2) == ["closed_approved_when", "closed_approved"]
