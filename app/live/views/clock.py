"""The one clock that matters now, the last oxygen saturation with its age, the attempt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.life import latest_vital, running_clock
from app.live.now import CaseNow


@dataclass(frozen=True, slots=True)
class ClockView:
    """since: when the running clock began; label: what it counts. spo2 [%] and when it was read. attempt: its number"""

    label: str
    since: datetime | None
    spo2: float | None
    spo2_at: datetime | None
    attempt: int | None
    attempt_open: bool
    airway: str
    size: float | str | None

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> ClockView:
        state = cases[0].state
        clock = running_clock(state)
        spo2 = latest_vital(state, "spo2")
        last = state.attempts[-1] if state.attempts else None
        return cls(
            clock.message if clock else "",
            clock.since if clock else None,
            spo2[0] if spo2 else None,
            spo2[1] if spo2 else None,
            last.n if last else None,
            last is not None and last.ended is None,
            state.airway.stage,
            state.airway.size,
        )
