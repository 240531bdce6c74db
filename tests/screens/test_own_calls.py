"""The sound of one's own calls is kept outside of memory, and is no reason to stop a flight."""

import numpy as np
import pytest

from trainer.errors import TrainerError
from trainer.live import own_calls
from trainer.live.own_calls import OwnCalls


def test_each_call_comes_back_as_it_was() -> None:
    calls = OwnCalls()
    sounds = {number: np.arange(number, number + 1000, dtype=np.int16) for number in (3, 0, 7)}
    for number, samples in sounds.items():
        calls.keep(number, samples)
    for number, samples in sounds.items():
        assert number in calls
        found = calls.get(number)
        assert found is not None
        assert np.array_equal(found, samples)
    assert calls.get(1) is None
    assert 1 not in calls
    calls.close()
    assert calls.get(3) is None


def test_without_room_there_is_no_sound_and_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def full() -> None:
        raise TrainerError("the folder for temporary files cannot be used", "make room there")

    monkeypatch.setattr(own_calls, "scratch_folder", full)
    calls = OwnCalls()
    calls.keep(0, np.zeros(10, np.int16))
    assert 0 not in calls
    assert calls.get(0) is None
