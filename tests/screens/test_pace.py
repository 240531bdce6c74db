"""Wall time and session time."""

from collections.abc import Callable
from typing import Any

import pytest

from drills.drill import Pace
from trainer.live.pace import speed
from trainer.live.session import LONGEST_TICK_S


@pytest.mark.parametrize(
    ("pace", "awaited", "on_air", "typing", "expected"),
    [
        ("real", False, False, False, 1.0),
        ("real", True, False, False, 1.0),
        ("real", True, False, True, 0.0),
        ("real", True, True, True, 1.0),
        ("real", False, False, True, 1.0),
        ("quick", False, False, False, 4.0),
        ("quick", True, False, False, 1.0),
        ("quick", False, True, False, 1.0),
        ("quick", True, False, True, 0.0),
        ("patient", False, False, False, 1.0),
        ("patient", True, False, False, 0.0),
        ("patient", True, True, False, 1.0),
    ],
)
def test_speed(pace: Pace, awaited: bool, on_air: bool, typing: bool, expected: float) -> None:
    assert speed(pace, awaited=awaited, on_air=on_air, typing=typing) == expected


def after_check_in(flight: Any) -> Any:
    """Checked in and read back: nothing is due for minutes, and the others are silent for seconds."""
    for _ in range(2):
        flight.live.typed(flight.until_due())
    flight.until(lambda: not flight.live.session.on_air)
    return flight


def test_real_pace_is_wall_time(flown: Callable[..., Any]) -> None:
    flight = after_check_in(flown(pace="real"))
    before = flight.live.session.now
    flight.live.tick(0.7)
    assert flight.live.session.now == pytest.approx(before + 0.7)


def test_quick_pace_is_quick_only_between_calls(flown: Callable[..., Any]) -> None:
    flight = after_check_in(flown(pace="quick"))
    before = flight.live.session.now
    flight.live.tick(0.5)
    assert flight.live.session.now == pytest.approx(before + 2.0)
    flight.until(lambda: flight.live.session.on_air)
    before = flight.live.session.now
    flight.live.tick(0.5)
    assert flight.live.session.now == pytest.approx(before + 0.5)


def test_a_long_tick_does_not_run_past_a_call_at_the_quick_pace(flown: Callable[..., Any]) -> None:
    flight = flown(pace="quick")
    while flight.live.session.prompt is None:
        flight.live.tick(1.0)
    due_since = flight.live.session.now
    flight.live.tick(LONGEST_TICK_S)
    assert flight.live.session.now <= due_since + LONGEST_TICK_S + 1e-9


def test_a_wait_longer_than_the_longest_tick_is_not_caught_up_with(flown: Callable[..., Any]) -> None:
    flight = flown(pace="real")
    flight.live.tick(3600.0)
    assert flight.live.session.now == pytest.approx(LONGEST_TICK_S)


def test_patient_time_stands_until_the_call_is_made(flown: Callable[..., Any]) -> None:
    flight = flown(pace="patient")
    model_call = flight.until_due()
    due = flight.live.session.now
    for _ in range(100):
        flight.live.tick(1.0)
    assert flight.live.session.now == due
    flight.live.typed(model_call)
    flight.live.tick(1.0)
    assert flight.live.session.now == pytest.approx(due + 1.0)


def test_patient_time_goes_on_where_the_call_is_let_pass(flown: Callable[..., Any]) -> None:
    flight = flown(pace="patient")
    flight.until_due()
    due = flight.live.session.now
    flight.live.let_pass()
    flight.live.tick(1.0)
    assert flight.live.session.now == pytest.approx(due + 1.0)


def test_a_call_being_typed_stops_the_clock(flown: Callable[..., Any]) -> None:
    flight = flown(pace="real")
    flight.until_due()
    due = flight.live.session.now
    flight.live.typing = True
    flight.live.tick(1.0)
    assert flight.live.session.now == due
    flight.live.typing = False
    flight.live.tick(1.0)
    assert flight.live.session.now == pytest.approx(due + 1.0)


def test_a_pause_stops_the_clock(flown: Callable[..., Any]) -> None:
    flight = flown(pace="real")
    flight.live.paused = True
    flight.live.tick(1.0)
    assert flight.live.session.now == 0.0
