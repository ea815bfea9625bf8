"""What a run is held against: each figure beside its target, and whether it was met."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

SCREENS = 200
"""So many open screens the targets of tap to last speak of."""
MEDIAN_MOST, P99_MOST = 2.5, 4.0
DURABLE_LEAST = 0.5
GROWTH_MOST = 1.5
"""Median of the last quarter of a long load by that of its first: a queue that grew for a minute would be far beyond."""
MANY_MOST = 1.2
BOARD_BELOW = 3.0
_LIVE_PAGES = ("inside", "case")


@dataclass(frozen=True)
class Target:
    """A ratio, and what it must be: at most, at least, or below a figure."""

    name: str
    value: float
    word: str
    figure: float

    @property
    def met(self) -> bool:
        if self.word == "at least":
            return self.value >= self.figure
        return self.value < self.figure if self.word == "below" else self.value <= self.figure

    def __str__(self) -> str:
        return f"{self.name:68} {self.value:7.2f}  {self.word:8} {self.figure:4}  {'met' if self.met else 'NOT MET'}"


def targets(found: dict[str, Any]) -> Iterator[Target]:
    """Every target that a run has a figure for."""
    for one in found["tap_to_last"]:
        if one["subscribers"] == SCREENS:
            where = f"{SCREENS} screens, {one['taps_per_s']} taps/s, {one['cases']} cases, × floor"
            ratio = one["last"]["ratio"]
            yield Target(f"tap to last, median: {where}", ratio["median"], "at most", MEDIAN_MOST)
            yield Target(f"tap to last, p99: {where}", ratio["p99"], "at most", P99_MOST)
    for one in found["long"]:
        name = f"200 taps/s for {one['seconds']:.0f} s, {one['cases']} cases: last quarter by first"
        yield Target(name, one["growth"], "at most", GROWTH_MOST)
    ratio = found["throughput"]["ratio_to_noop_fastapi"]
    yield Target("durable taps/s by those of a FastAPI route that does nothing", ratio, "at least", DURABLE_LEAST)
    many = found["many"]
    for page in _LIVE_PAGES:
        name = f"first byte of {page} with {many['entries']:,} entries in other cases, by without"
        yield Target(name, round(many["ratio"][page], 2), "at most", MANY_MOST)
    name = f"board of {many['board']['live_cases']} live cases, by the page of one"
    yield Target(name, many["board"]["ratio_to_a_case_page"], "below", BOARD_BELOW)
