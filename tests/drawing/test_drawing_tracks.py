"""The labels of the time-distance diagram: none lies on another, each beside its own line."""

from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from drills.check import load_field
from trainer.drawing.labels import Box, Labels
from trainer.drawing.tracks import Trace, draw_tracks
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan

SVG = "{http://www.w3.org/2000/svg}"
# Measured with Chromium's getBBox on callsigns: 0.58 to 0.65 of the size a character (DejaVu Sans the widest, then
# Liberation Sans, Noto Sans), 0.89 above the baseline, 0.22 below.
WIDEST, ABOVE, BELOW = 0.655, 0.89, 0.223


def approach(callsign: str, lands_at: float, nm: float = 15.0) -> Trace:
    """Straight down the runway line at two miles a minute."""
    trace = Trace(callsign)
    seconds = nm * 30.0
    for step in range(int(seconds / 4.0), 0, -1):
        trace.samples.append((lands_at - 4.0 * step, -4.0 * step / 30.0, 0.0, Leg.FINAL))
    trace.samples += [(lands_at, 0.0, 0.0, Leg.RUNWAY), (lands_at + 4.0, 0.1, 0.0, Leg.RUNWAY)]
    return trace


def boxes(drawn: str) -> list[tuple[float, float, float, float]]:
    found = []
    for each in ElementTree.fromstring(drawn).iter(f"{SVG}text"):
        if each.attrib.get("class") == "callsign":
            assert each.text is not None
            x, y, size = (float(each.attrib[key]) for key in ("x", "y", "font-size"))
            found.append((x, y - ABOVE * size, x + WIDEST * size * len(each.text), y + BELOW * size))
    return found


def test_no_two_labels_lie_on_each_other_where_many_land_closely() -> None:
    plan = PatternPlan.of(load_field("corbel"), "31")
    traces = [approach(f"MARTEN {20 + index}", 500.0 + 45.0 * index) for index in range(40)]
    found = boxes(draw_tracks(plan, traces, 2400.0, "crowded"))
    assert len(found) == len(traces)
    # Above the far ends, where they stood before, they would overlap: the ends lie this close.
    assert found[0][2] - found[0][0] > 900.0 * 45.0 / 2400.0
    for index, one in enumerate(found):
        for other in found[:index]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (one, other)


def test_a_label_without_room_is_left_out() -> None:
    plan = PatternPlan.of(load_field("corbel"), "31")
    traces = [approach(f"ADZE {20 + index % 70}", 500.0 + index, 2.0) for index in range(60)]
    found = boxes(draw_tracks(plan, traces, 86_400.0, "no room"))
    assert 0 < len(found) < len(traces)


@given(st.lists(st.tuples(st.floats(0.0, 200.0), st.floats(0.0, 100.0)), max_size=30))
def test_placed_boxes_keep_clear_of_each_other(places: list[tuple[float, float]]) -> None:
    labels = Labels(Box(0.0, 0.0, 200.0, 100.0), 9.0)
    for at in places:
        labels.place("SABLE 21", [at, (at[0], at[1] + 15.0)])
    taken = labels.taken
    assert not any(one.meets(other) for index, one in enumerate(taken) for other in taken[:index])


def test_a_place_that_no_line_crosses_comes_first() -> None:
    line = [(0.0, 50.0), (200.0, 50.0)]
    labels = Labels(Box(0.0, 0.0, 200.0, 100.0), 9.0, [line])
    assert labels.place("SABLE 21", [(10.0, 52.0), (10.0, 30.0)]) == (10.0, 30.0)
    assert labels.place("HERON 42", [(120.0, 52.0)]) == (120.0, 52.0)
