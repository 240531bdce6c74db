"""Freed memory goes back to the system, in a process whose heaps have learnt to keep it."""

import platform
import subprocess
import sys

import pytest

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
