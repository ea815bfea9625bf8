"""The shift board: every case that has not ended, one band each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.life import running_clock
from app.live.now import CaseNow
from app.live.views.notices import Shown, current, shown
from app.live.views.rooms import RoomLine, room_line


@dataclass(frozen=True, slots=True)
class Band:
    """One case on the board."""

    line: RoomLine
    case: str
    title: str
    life: str
    opened_at: datetime | None
    clock_label: str
    clock_since: datetime | None
    open_requests: int
    unanswered: int
    rescue: str | None
    crew: tuple[tuple[str, str, datetime | None], ...]
    exposures: int
    notices: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class BoardView:
    """Rescue and criticals first, then by room."""

    bands: tuple[Band, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> BoardView:
        bands = [_band(case) for case in cases]
        return cls(tuple(sorted(bands, key=_pressing)))


def _pressing(band: Band) -> tuple[bool, str, str]:
    calm = band.rescue is None and not any(notice.critical for notice in band.notices)
    return (calm, band.line.room, band.case)


def _band(case: CaseNow) -> Band:
    state = case.state
    clock = running_clock(state)
    open_requests = state.open_requests
    proven = state.airway.proven_at is not None
    return Band(
        room_line(case),
        case.id,
        case.protocol.title,
        case.life.value,
        state.opened_at,
        clock.message if clock else "",
        clock.since if clock else None,
        len(open_requests),
        sum(1 for r in open_requests if r.acknowledged is None),
        None if proven else state.airway.rescue,
        tuple(
            (", ".join(case.roles_of(person.id)), person.name, person.don_start if person.dressed else None)
            for person in case.crew
            if case.roles_of(person.id)
        ),
        len(state.exposures),
        tuple(
            shown(case, life) for life in case.notices if life.acknowledged is None and current(case, life, "charge")
        ),
    )
