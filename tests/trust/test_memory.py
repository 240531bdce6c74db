"""Freed memory goes back to the system, in a process whose heaps have learnt to keep it; what stays is not looked
through by the collector of cycles, and what a flight has left is."""

import gc
import platform
import subprocess
import sys
import weakref
from collections.abc import Iterator

import pytest

from trainer.memory import settle

HELD = """\
import ctypes
from pathlib import Path
from trainer.memory import give_back_what_is_freed

libc = ctypes.CDLL(None)
libc.malloc.restype, libc.malloc.argtypes = ctypes.c_void_p, [ctypes.c_size_t]
libc.free.argtypes = [ctypes.c_void_p]

def piece(size):
    where = libc.malloc(size)
    ctypes.memset(where, 1, size)
    return where

def resident():
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096

give_back_what_is_freed()
libc.free(piece(20_000_000))  # from such a one glibc learns
before = resident()
large, small = [], []
for _ in range(20):
    large.append(piece(5_000_000))
    small.append(piece(400_000))
most = resident()
for each in large:
    libc.free(each)
print(most - before, resident() - before)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="what is set is glibc's")
def test_large_pieces_are_not_kept_when_they_are_freed() -> None:
    done = subprocess.run(
        [sys.executable, "-c", HELD], capture_output=True, text=True, check=True, timeout=60
    )
    most, after = map(int, done.stdout.split())
    assert most > 100_000_000, "the pieces were never held"
    assert after < 20_000_000  # the small ones, which nobody freed, are eight of them


class Knot:
    """A cycle, as screens are."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture
def collector() -> Iterator[None]:
    usual = gc.get_threshold()
    yield
    gc.unfreeze()
    gc.set_threshold(*usual)


@pytest.mark.usefixtures("collector")
def test_what_is_there_stays_until_the_next_flight_begins() -> None:
    first = Knot()
    is_there = weakref.ref(first)
    settle()
    assert gc.get_freeze_count() > 0
    del first
    gc.collect()
    assert is_there() is not None  # it is not looked at
    settle()
    assert is_there() is None
