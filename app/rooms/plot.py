"""A small plot of a room's pressure readings, as plain geometry that a template sets out as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.rooms.tables import RoomCheck

WIDTH, HEIGHT = 320, 96
LEFT, RIGHT, TOP, BOTTOM = 34, 6, 8, 18


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading: where it lies, its figure [Pa], when it was read."""

    x: float
    y: float
    pressure_pa: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Plot:
    """Readings since `since`, newest right. All in units of the drawing's own box.

    zero, limit  heights of the lines at 0 Pa and at the department's limit
    low, high    figures at the bottom and the top [Pa]
    """

    dots: tuple[Dot, ...]
    zero: float
    limit: float | None
    limit_pa: float | None
    low: float
    high: float
    since: datetime
    until: datetime

    @property
    def line(self) -> str:
        """The points of a polyline."""
        return " ".join(f"{dot.x:.1f},{dot.y:.1f}" for dot in self.dots)

    width, height, left, right, top, bottom = WIDTH, HEIGHT, LEFT, WIDTH - RIGHT, TOP, HEIGHT - BOTTOM


def plot(checks: Sequence[RoomCheck], limit_pa: float | None, until: datetime, days: int = 30) -> Plot | None:
    """The readings of the last days; None when there are fewer than two."""
    since = until - timedelta(days=days)
    recent = [one for one in checks if one.checked_at >= since]
    read = [(one.checked_at, one.pressure_pa) for one in recent if one.pressure_pa is not None]
    if len(read) < 2:
        return None
    figures: list[float] = [0.0, *(pressure for _, pressure in read), *(() if limit_pa is None else (limit_pa,))]
    low, high = min(figures), max(figures)
    span = (high - low) or 1.0
    whole = (until - since).total_seconds()

    def y(pressure: float) -> float:
        share: float = (high - pressure) / span
        return TOP + share * (HEIGHT - TOP - BOTTOM)

    def x(at: datetime) -> float:
        share: float = (at - since).total_seconds() / whole
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    dots = tuple(Dot(x(at), y(pressure), pressure, at) for at, pressure in read)
    return Plot(dots, y(0.0), None if limit_pa is None else y(limit_pa), limit_pa, low, high, since, until)
