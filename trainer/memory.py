"""Memory that is freed goes back to the system; what is there to stay is not looked through again and again.

glibc keeps what was freed in the middle of its heaps, and for large pieces it learns to do so. With networks
that are loaded for each situation and sounds of half a megabyte a flight held 50 MB for nothing, and more
with every minute.
"""

import ctypes
import gc
import sys

_M_ARENA_MAX, _M_MMAP_THRESHOLD = -8, -3  # malloc.h of glibc; mallopt(3)
_ARENAS = 2
_APART_BYTES = 512 * 1024
_SELDOM = (2_000, 10, 5)
"""New objects before the collector looks through the newest, and how often through the older ones."""


def give_back_what_is_freed() -> None:
    """Pieces of half a megabyte get memory of their own, and threads share two heaps. Elsewhere: nothing."""
    if not sys.platform.startswith("linux"):
        return
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)  # musl has none
    if mallopt is not None:
        mallopt(_M_ARENA_MAX, _ARENAS)
        mallopt(_M_MMAP_THRESHOLD, _APART_BYTES)


def settle() -> None:
    """What is there by now is taken to stay: from now on the collector of cycles looks at what comes later.

    With all that a flight loads it had stopped everything for up to 108 ms, twice a minute. To be called at
    the beginning of each flight: what the one before has left is freed.
    """
    gc.set_threshold(*_SELDOM)
    gc.unfreeze()
    gc.collect()
    gc.freeze()
    gc.collect()  # finds nothing; the oldest are looked at when they have grown by a quarter of what is found
