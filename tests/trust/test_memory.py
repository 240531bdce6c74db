"""Freed memory goes back to the system, in a process whose heaps have learnt to keep it."""

import platform
import subprocess
import sys

import pytest

HELD = """\
import ctypes, sys
from pathlib import Path
from trainer.memory import give_back_what_is_freed

libc = ctypes.CDLL(None)
libc.malloc.restype, libc.malloc.argtypes = ctypes.c_void_p, [ctypes.c_size_t]
libc.free.argtypes = [ctypes.c_void_p]

def piece(size):
    where = libc.malloc(size)
    ctypes.memset(where, 1, size)
    return where

if sys.argv[1] == "given back":
    give_back_what_is_freed()
libc.free(piece(20_000_000))  # from such a one glibc learns
large, small = [], []
for _ in range(20):
    large.append(piece(5_000_000))
    small.append(piece(400_000))
for each in large:
    libc.free(each)
pages = int(Path("/proc/self/statm").read_text().split()[1])
print(pages * 4096)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="what is set is glibc's")
def test_large_pieces_are_not_kept_when_they_are_freed() -> None:
    def held(how: str) -> int:
        done = subprocess.run(
            [sys.executable, "-c", HELD, how], capture_output=True, text=True, check=True, timeout=60
        )
        return int(done.stdout)

    assert held("given back") < held("kept") - 50_000_000
