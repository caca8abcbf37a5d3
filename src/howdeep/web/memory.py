"""The memory of a server: what the C library keeps of freed tables would let it grow all day, so it is given back."""

from __future__ import annotations

import ctypes
import gc
import os
import threading
import time
from collections.abc import Callable
from pathlib import Path

ARENAS = 2
"""Pools of the C library; by default each thread of the server gets its own, and none is used up."""
GROWN = 32 * 1024 * 1024
"""Bytes that the process may hold beyond the least it came down to, before it is looked through for free memory."""
EVERY = 1.0
"""Seconds between two looks: one takes some milliseconds."""
YOUNG = (700, 10, 10_000)
"""Python's own thresholds of the collector but for the last: it goes through all that is old only when told to."""
FEW = 4
"""Collections of the young that make a look worth while: some thousand objects."""
LOOKS = 500
"""Looks at what is new before one at everything."""
_ARENA_MAX = -8
"""M_ARENA_MAX of mallopt(3)."""


class Trimmer:
    """Gives free memory back now and then; does nothing where the C library cannot (it is not glibc)."""

    def __init__(self) -> None:
        self.lock, self.least, self.when = threading.Lock(), 0, float("-inf")
        self.trim: Callable[[int], object] | None = None
        try:
            library = ctypes.CDLL(None)
            self.trim = library.malloc_trim
            library.mallopt(_ARENA_MAX, ARENAS)
        except (OSError, AttributeError, TypeError):
            self.trim = None

    def __call__(self) -> None:
        """Give memory back where the process holds much more than it once came down to. What other requests hold at
        that moment stays, so it is not the last look that it is held to but the one that brought most."""
        if self.trim is None or not self.lock.acquire(blocking=False):
            return
        try:
            now = time.monotonic()
            if now >= self.when + EVERY and resident() > self.least + GROWN:
                self.trim(0)
                self.when, self.least = now, min(self.least or resident(), resident())
        finally:
            self.lock.release()


class Collector:
    """Looks for cycles between two answers and not in the midst of one.

    Left to itself the collector goes through everything that is kept, again and again: a tenth of a second or two in
    one answer of twenty. Here it looks through what came since its last look and passes that by from then on; what is
    let go later goes at once all the same but for cycles, which a look through everything finds now and then.
    """

    def __init__(self) -> None:
        self.lock, self.looks = threading.Lock(), 0
        gc.set_threshold(*YOUNG)

    def __call__(self, *, anew: bool = False) -> None:
        """Look, where enough came; with `anew` through everything, as when another rule base took the place of one."""
        if not anew and gc.get_count()[1] + gc.get_count()[2] * YOUNG[1] < FEW:
            return
        if not self.lock.acquire(blocking=False):
            return
        try:
            self.looks += 1
            if anew or self.looks % LOOKS == 0:
                gc.unfreeze()
            gc.collect()
            gc.freeze()
        finally:
            self.lock.release()


def resident() -> int:
    """Bytes of memory that the process holds now; 0 where the system does not tell."""
    try:
        with Path("/proc/self/statm").open(encoding="ascii") as told:
            return int(told.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError, IndexError):
        return 0


__all__ = ["Collector", "Trimmer", "resident"]
