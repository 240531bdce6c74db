"""Memory that is freed goes back to the system.

glibc keeps what was freed in the middle of its heaps, and for large pieces it learns to do so. With networks
that are loaded for each situation and sounds of half a megabyte a flight held 50 MB for nothing, and more
with every minute.
"""

import ctypes
import sys

_M_ARENA_MAX, _M_MMAP_THRESHOLD = -8, -3  # malloc.h of glibc; mallopt(3)
_ARENAS = 2
_APART_BYTES = 512 * 1024


def give_back_what_is_freed() -> None:
    """Pieces of half a megabyte get memory of their own, and threads share two heaps. Elsewhere: nothing."""
    if not sys.platform.startswith("linux"):
        return
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)  # musl has none
    if mallopt is not None:
        mallopt(_M_ARENA_MAX, _ARENAS)
        mallopt(_M_MMAP_THRESHOLD, _APART_BYTES)
