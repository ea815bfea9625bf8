"""Holds back guessing: so many attempts a minute from one address, and so many from all of them together.

A bucket of attempts fills up again evenly. It is kept in the memory of this process: a restart forgives.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from app.base.errors import TooOften

KEPT = 1000
"""Addresses that are remembered."""


class Throttle:
    """Counts attempts. each: a minute from one address; together: a minute from all."""

    def __init__(self, each: int = 5, together: int = 30, clock: Callable[[], float] = time.monotonic) -> None:
        self._each, self._together, self._clock = each, together, clock
        self._buckets: dict[str, tuple[float, float]] = {}

    def attempt(self, address: str) -> None:
        """Counts one attempt. Raises TooOften, saying when to try again; the attempt is then not to be looked at."""
        now = self._clock()
        if len(self._buckets) > KEPT:
            self._buckets = {name: known for name, known in self._buckets.items() if now - known[1] < 60}
        for name, most in ((f"of {address}", self._each), ("all", self._together)):
            left, at = self._buckets.get(name, (float(most), now))
            left = min(float(most), left + (now - at) * most / 60)
            if left < 1:
                wait_s = int((1 - left) * 60 / most) + 1
                raise TooOften(
                    "Too many codes were tried.", holds="Nothing was paired.", do=f"Wait {wait_s} s and try again."
                )
            self._buckets[name] = (left - 1, now)
