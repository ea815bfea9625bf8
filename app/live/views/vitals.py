"""Figures read off the monitor, by big steppers that start from the last value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.life import latest_vital
from app.live.now import CaseNow

_FIELDS = (
    ("spo2", "SpO2", "%", 98, 1, 0, 100),
    ("sbp", "Systolic", "mmHg", 120, 5, 0, 300),
    ("hr", "Pulse", "/min", 90, 5, 0, 300),
)


@dataclass(frozen=True, slots=True)
class Figure:
    """One stepper: starts at the last value read, or at `start` which is only where the stepper stands."""

    name: str
    label: str
    unit: str
    start: int
    step: int
    least: int
    most: int
    last: float | None
    at: datetime | None


@dataclass(frozen=True, slots=True)
class VitalsView:
    """The figures that the room can record without a keyboard."""

    case: str
    figures: tuple[Figure, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> VitalsView:
        case = cases[0]
        figures = []
        for name, label, unit, start, step, least, most in _FIELDS:
            last = latest_vital(case.state, name)
            shown = int(last[0]) if last else start
            figures.append(
                Figure(
                    name, label, unit, shown, step, least, most, last[0] if last else None, last[1] if last else None
                )
            )
        return cls(case.id, tuple(figures))
