"""Guessing is held back: per address, over all addresses, and only for as long as it lasts."""

from __future__ import annotations

import pytest

from app.base.errors import TooOften
from app.web.throttle import KEPT, Throttle


class Clock:
    """Seconds that pass when they are told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_five_attempts_a_minute_from_one_address() -> None:
    clock = Clock()
    throttle = Throttle(clock=clock)
    for _ in range(5):
        throttle.attempt("a")
    with pytest.raises(TooOften, match="Wait 13 s"):
        throttle.attempt("a")
    throttle.attempt("b")
    clock.now += 12
    throttle.attempt("a")
    with pytest.raises(TooOften):
        throttle.attempt("a")
    clock.now += 60
    for _ in range(5):
        throttle.attempt("a")


def test_many_addresses_together_are_held_back_too() -> None:
    throttle = Throttle(clock=Clock())
    for n in range(30):
        throttle.attempt(str(n))
    with pytest.raises(TooOften):
        throttle.attempt("one more")


def test_addresses_are_not_remembered_for_ever() -> None:
    clock = Clock()
    throttle = Throttle(together=10**9, clock=clock)
    for n in range(3 * KEPT):
        clock.now += 1
        throttle.attempt(str(n))
    assert len(throttle._buckets) <= KEPT + 2
