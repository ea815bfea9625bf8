"""Each room as the door sees it: stage, airway, who is inside, how old the news is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.life import latest_vital
from app.live.now import CaseNow


@dataclass(frozen=True, slots=True)
class RoomLine:
    """last_at: the last thing known of it; lost_at: since when its screen has no link."""

    room: str
    ref: str
    stage: str
    airway: str
    attempt: int | None
    spo2: float | None
    spo2_at: datetime | None
    inside: tuple[str, ...]
    last_at: datetime | None
    lost_at: datetime | None


@dataclass(frozen=True, slots=True)
class RoomsView:
    """Rooms in the order of their names."""

    rooms: tuple[RoomLine, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RoomsView:
        return cls(tuple(room_line(case) for case in cases))


def room_line(case: CaseNow) -> RoomLine:
    """One room's line."""
    state = case.state
    spo2 = latest_vital(state, "spo2")
    return RoomLine(
        case.room,
        state.setup.ref or "",
        case.phase.title,
        state.airway.stage,
        state.attempts[-1].n if state.attempts else None,
        spo2[0] if spo2 else None,
        spo2[1] if spo2 else None,
        tuple(case.person(p).name for p in state.inside),
        state.last_at,
        min(state.link_lost.values(), default=None),
    )
