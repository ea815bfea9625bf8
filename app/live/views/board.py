"""The shift board: every case that has not ended, one band each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.clear_air import clear_due
from app.case.life import running_clock
from app.case.state import Life, State
from app.live.now import CaseNow
from app.live.views.notices import Shown, current, shown
from app.live.views.rooms import RoomLine, room_line


@dataclass(frozen=True, slots=True)
class Band:
    """One case on the board.

    help_since                  since when help is called that has not come
    runner, rooms, asked        who holds the door, of how many rooms, with how many undelivered requests in all of them
    clear                       when the room's air counts as clear
    unfollowed, debrief_open    breaches without an exposure record, and whether a debrief is owed
    """

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
    help_since: datetime | None = None
    runner: str = ""
    runner_rooms: int = 0
    runner_asked: int = 0
    clear: datetime | None = None
    unfollowed: int = 0
    debrief_open: bool = False


@dataclass(frozen=True, slots=True)
class BoardView:
    """Rescue and criticals first, then rooms where help has not come, then by room."""

    bands: tuple[Band, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> BoardView:
        bands = [_band(case, cases) for case in cases]
        return cls(tuple(sorted(bands, key=_pressing)))


def _pressing(band: Band) -> tuple[bool, bool, str, str]:
    calm = band.rescue is None and not any(notice.critical for notice in band.notices)
    return (calm, band.help_since is None, band.line.room, band.case)


def help_since(state: State) -> datetime | None:
    """Since when help is called that has not come."""
    called, came = state.last("help.call"), state.last("help.arrive")
    return called.at if called is not None and (came is None or came.order < called.order) else None


def _load(case: CaseNow, cases: Sequence[CaseNow]) -> tuple[str, int, int]:
    """The runner of a case, of how many of these rooms they hold the door, and what is not delivered there yet."""
    runner = case.holder("DR")
    if runner is None:
        return "", 0, 0
    held = [one for one in cases if runner.id in one.state.roles.get("DR", ())]
    return runner.name, len(held), sum(r.handed_in is None for one in held for r in one.state.open_requests)


def _unfollowed(state: State) -> int:
    """Breaches for whose person no exposure was opened since."""
    opened = [(getattr(h.body, "p", None), h.order) for h in state.all("exposure.open")]
    return sum(
        not any(p == getattr(h.body, "p", None) and order > h.order for p, order in opened) for h in state.all("breach")
    )


def _band(case: CaseNow, cases: Sequence[CaseNow]) -> Band:
    state = case.state
    clock = running_clock(state)
    open_requests = state.open_requests
    proven = state.airway.proven_at is not None
    runner, rooms, asked = _load(case, cases)
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
        help_since(state),
        runner,
        rooms,
        asked,
        None if state.all("room.turned") else clear_due(state),
        _unfollowed(state),
        case.life in (Life.LEAVING, Life.ABORTED) and not state.inside and not state.all("debrief.done"),
    )
