"""The apnoea forecast's curve as shapes for a drawing: saturation over minutes, threshold, low and high estimate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any, cast

LEFT, TOP, WIDTH, HEIGHT = 44.0, 10.0, 540.0, 170.0


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of an axis: where it stands [px] and what it says."""

    at: float
    words: str


@dataclass(frozen=True, slots=True)
class Driver:
    """What one input does to the time when it lies one standard deviation off, in minutes and seconds."""

    name: str
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class Curve:
    """Places in px of the drawing's own coordinates; the axis of saturation begins a ten below the threshold."""

    path: str
    threshold_y: float
    threshold_pct: float
    low_x: float
    high_x: float
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    drivers: tuple[Driver, ...]
    left: float = LEFT
    right: float = LEFT + WIDTH
    top: float = TOP
    bottom: float = TOP + HEIGHT


def curve_of(more: Mapping[str, object], threshold_pct: float) -> Curve:
    """The drawing of a forecast. Time runs to a whole minute past the high estimate."""
    points = cast(Sequence[Sequence[float]], more["curve"])
    low_s, high_s = float(str(more["low"])), float(str(more["high"]))
    minutes = max(1, ceil(max(high_s, points[-1][0]) / 60))
    lowest = min(int(threshold_pct // 10) * 10, 90) - 10

    def x(seconds: float) -> float:
        return round(LEFT + WIDTH * seconds / (minutes * 60), 1)

    def y(percent: float) -> float:
        return round(TOP + HEIGHT * (100 - max(min(percent, 100), lowest)) / (100 - lowest), 1)

    every = max(1, ceil(minutes / 8))
    return Curve(
        path="M" + " L".join(f"{x(s)} {y(p)}" for s, p in points),
        threshold_y=y(threshold_pct),
        threshold_pct=threshold_pct,
        low_x=x(low_s),
        high_x=x(high_s),
        x_ticks=tuple(Tick(x(m * 60), str(m)) for m in range(0, minutes + 1, every)),
        y_ticks=tuple(Tick(y(p), str(p)) for p in range(lowest, 101, 10)),
        drivers=tuple(_driver(each) for each in cast(Sequence[Mapping[str, Any]], more["drivers"])),
    )


def _driver(each: Mapping[str, Any]) -> Driver:
    return Driver(str(each["input"]), _clock(each["low_s"]), _clock(each["high_s"]))


def _clock(seconds: float) -> str:
    whole = int(seconds // 10) * 10
    return f"{whole // 60}:{whole % 60:02d}"
