"""Dots, the plan's page, the chart's values, the ASCII likeness, and the debrief's short account."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from trainer.debrief.debriefing import debrief
from trainer.live.chart import Chart, turned
from trainer.live.debriefing import debriefing, score_of, title_of
from trainer.live.view import view_of
from trainer.pattern.leg import Leg
from trainer.screens.ascii_only import plain, speaks_unicode
from trainer.screens.debrief_screen import call_account
from trainer.screens.dots import Dots
from trainer.screens.progress_screen import bars, plot
from trainer.session.events import CallMissed


def drawn(dots: Dots) -> list[str]:
    return ["".join(text for text, _ in dots.row(row)) for row in range(dots.height)]


def test_dots_of_two_lines_in_one_cell_are_both_there() -> None:
    # The bits of a braille cell: Unicode 15, chapter 21.1 (dots 1 2 3 7 on the left, 4 5 6 8 on the right).
    dots = Dots(1, 1)
    dots.line([(0.0, 0.0), (0.0, 4.0)], "one")
    assert drawn(dots) == ["\u2847"]
    dots.line([(1.0, 0.0), (1.0, 4.0)], "two")
    assert drawn(dots) == ["\u28ff"]
    assert list(dots.row(0)) == [("\u28ff", "two")]


def test_what_lies_outside_is_not_drawn_and_words_are_cut_off() -> None:
    dots = Dots(4, 2)
    dots.line([(-20.0, -20.0), (-5.0, 30.0)], "out")
    dots.write(2, 0, "SABLE", "own")
    dots.write(0, 9, "far", "own")
    assert drawn(dots) == ["  SA", "    "]
    assert dots.covered(0, 0, 3) is None  # it would touch the words
    assert dots.covered(0, 1, 4) == 0


def test_a_copy_is_its_own() -> None:
    dots = Dots(2, 1)
    twin = dots.copy()
    twin.dot(0, 0, "ink")
    assert drawn(dots) == ["  "]
    assert drawn(twin) == ["\u2801 "]


@pytest.mark.parametrize("end", ["31", "13"])
def test_the_chart_lies_as_the_field_does(flown: Callable[..., Any], end: str) -> None:
    """31 breaks left, 13 right: the downwind is on that hand with the runway up, and both lie south-west."""
    from trainer.live.start import plan_of

    plan = plan_of(None, None, "corbel", end, 1, "50")[0].pattern
    downwind = (0.0, 1.0)
    right, up = turned(plan, "runway up")(downwind)
    assert (right < 0) == (plan.side == "left")
    assert up == pytest.approx(0.0)
    east, north = turned(plan, "north up")(downwind)
    # The pattern's side of either end of 13/31 with these breaks: 310 - 90 = 220, 130 + 90 = 220 degrees.
    assert math.degrees(math.atan2(east, north)) % 360 == pytest.approx(220.0)
    along, aside = turned(plan, "runway across")((1.0, 0.0))
    assert (along, aside) == (1.0, 0.0)


def test_the_chart_follows_the_flight(flown: Callable[..., Any]) -> None:
    flight = flown()
    chart = Chart(flight.live)
    begin = chart.view()
    assert begin.leg is Leg.INBOUND
    assert begin.frame  # far out: the aircraft and its point are in sight
    (due,) = (call for call in begin.calls if call.is_next)
    assert due.name == "Check-in"
    for _ in range(2):
        flight.live.typed(flight.until_due())
    flight.until(lambda: flight.live.session.trainee.flight.leg is Leg.INITIAL)
    view = chart.view()
    own = next(each for each in view.aircraft if each.own)
    assert own.going == pytest.approx((1.0, 0.0), abs=1e-6)  # along the runway, on its line
    assert own.at[1] == pytest.approx(0.0, abs=1e-6)
    assert not view.frame
    assert view.next_leg is Leg.BREAK_TURN
    assert math.dist(view.flown[-1], own.at) < 0.1
    (due,) = (call for call in view.calls if call.is_next)
    assert due.at[0] == pytest.approx(-flight.live.plan.field.report_initial_nm, abs=1e-6)


def test_everything_that_is_drawn_has_an_ascii_likeness_of_one_character() -> None:
    signs = [chr(code) for block in (range(0x2500, 0x25A0), range(0x2800, 0x2900)) for code in block]
    signs += list("→↗↑↖←↙↓↘◉○·…▁▂▃▄▅▆▇█━│└▊▎")
    for sign in signs:
        assert len(plain(sign)) == 1
        assert plain(sign).isascii(), sign
    assert plain("\u2800") == " "
    assert plain("\u28ff") == "#"
    assert plain("\u2847") == "|"
    assert plain("SABLE 21") == "SABLE 21"


@pytest.mark.parametrize(
    ("environment", "expected"),
    [
        ({"LANG": "en_GB.UTF-8"}, True),
        ({"LANG": "C.UTF-8"}, True),
        ({"LANG": "C"}, False),
        ({}, False),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, False),  # Python's own doing: PEP 538
        ({"LANG": "de_DE.ISO-8859-1"}, False),
        ({"LANG": "C", "LC_ALL": "en_US.utf8"}, True),
        ({"LANG": "en_US.UTF-8", "LC_ALL": "C"}, False),
    ],
)
def test_the_locale_says_whether_there_is_unicode(environment: dict[str, str], expected: bool) -> None:
    assert speaks_unicode(environment) == expected


def test_the_short_account_of_a_flight(flown: Callable[..., Any]) -> None:
    flight = flown()
    assert debriefing(flight.live.calls) == debriefing([])
    assert debriefing([]).practise == ()
    flight.live.typed(flight.until_due())
    flight.live.typed("sable two one, wilco")
    flight.until(lambda: len(flight.live.calls) >= 2)
    found = debriefing(flight.live.calls)
    assert found.best == 0
    assert title_of(flight.live.calls[0]) == "Check-in"
    assert title_of(flight.live.calls[1]).startswith("Answer: ")
    assert found.worst is not None
    assert score_of(flight.live.calls[found.worst]) == min(map(score_of, flight.live.calls))
    assert "in the answer: " in found.practise[0]
    kept = debrief(flight.logbook, flight.live.book.session_id)  # the same out of the logbook
    for what, line in zip(found.practise, kept.work_on, strict=True):
        assert line.rpartition(": ")[0].lower() in what


def test_bars_and_the_plot_show_high_and_low() -> None:
    assert bars([0.0, 0.5, 1.0]).strip() == "▁▄▇"
    assert bars([1.0] * 40) == "▇" * 12
    rows = plot([0.0, 100.0], 14, 3).plain.split("\n")
    assert [row[:4] for row in rows] == ["100 ", " 50 ", "  0 "]
    assert ord(rows[2][4]) - 0x2800 & 0x40  # begins at the foot
    assert ord(rows[0][13]) - 0x2800 & 0x08  # ends at the top


def test_what_the_microphone_does_in_words(flown: Callable[..., Any]) -> None:
    flight = flown()
    live = flight.live
    assert view_of(live).ears.words.startswith("no microphone")
    assert view_of(live).mic is None
    hearing, _ = flight.grow_ears(None)
    assert (view_of(live).ears.sign, view_of(live).ears.words) == ("o", "listening")
    hearing.listen()
    # Noise of 20 steps root mean square, of 32,768: 20 log(20 / 32768) dB.
    assert hearing.level_dbfs == pytest.approx(20.0 * math.log10(20.0 / 32768.0), abs=1.5)
    assert view_of(live).mic == 0.0
    hearing.level_dbfs = -15.0
    assert view_of(live).mic == pytest.approx(0.75)
    live._sounds("tower", "say again", 0.0, False)
    assert (view_of(live).ears.sign, view_of(live).ears.words) == (">", "Corbel Tower speaks")
    live.keyed = True
    assert view_of(live).ears.words == "hearing you, blocked: Corbel Tower speaks"
    live.keyed = False
    live._sounds("tower", "say again", 0.0, True)
    assert view_of(live).ears.sign == "#"
    assert "blocked" in view_of(live).ears.words
    live.thinking = True
    assert view_of(live).ears.words == "thinking"


def test_the_words_of_a_missed_call_are_kept_for_the_debrief(flown: Callable[..., Any]) -> None:
    flight = flown()
    model_call = flight.until_due()
    flight.until(lambda: bool(flight.live.calls))
    assert isinstance(flight.live.calls[0], CallMissed)
    assert flight.live.model_of == {0: model_call}
    account = str(call_account(flight.live.calls[0], model_call))
    assert f"= {model_call}" in account
    assert "hold at the entry point" in account
