"""Wrong tokens slow the next try down: for each address, and for all addresses together."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable

FREE = 5
"""Wrong tries of one address before it must wait; then 1, 2, 4 ... seconds."""
LONGEST = 900.0
FORGOTTEN = 3600.0
"""Seconds without a try after which an address starts anew."""
ADDRESSES = 256
"""Most addresses remembered."""
TOGETHER = 50
"""Wrong tries of all addresses in a burst; then one in SPARED seconds, so that many addresses are no way round."""
SPARED = 6.0


class Guesses:
    """Tries counted. A try counts as wrong until `right` takes it back, so that tries at the same time all count."""

    def __init__(self, clock: Callable[[], float] = time.monotonic):
        self.clock, self.lock = clock, threading.Lock()
        self.known: OrderedDict[str, tuple[int, float]] = OrderedDict()
        """Address -> wrong tries, and when the next may come."""
        self.level, self.at = 0.0, clock()

    def take(self, address: str) -> float:
        """Count a try; returns 0 where it may be looked at, else the seconds to wait and then does not count."""
        with self.lock:
            now = self.clock()
            self.level = max(0.0, self.level - (now - self.at) / SPARED)
            self.at = now
            count, free_at = self.known.get(address, (0, now))
            if now > free_at + FORGOTTEN:
                count, free_at = 0, now
            wait = max(free_at - now, (self.level + 1 - TOGETHER) * SPARED)
            if wait > 0:
                return wait
            count += 1
            pause = min(LONGEST, 2.0 ** min(count - FREE, 20)) if count >= FREE else 0.0
            self.known[address] = (count, now + pause)
            self.known.move_to_end(address)
            while len(self.known) > ADDRESSES:
                self.known.popitem(last=False)
            self.level += 1
            return 0.0

    def right(self, address: str) -> None:
        """The try that was just taken was right."""
        with self.lock:
            self.known.pop(address, None)
            self.level = max(0.0, self.level - 1)
