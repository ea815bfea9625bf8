"""Is a room proven: its last check against what it is meant to be, and how old its figures are. Facts, no alarm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from app.base.messages import N_
from app.rooms.tables import Room, RoomCheck

Verdict = Literal["proven", "not proven", "not checked", "too old", "cannot be told"]
VERDICTS: dict[Verdict, str] = {
    "proven": N_("proven"),
    "not proven": N_("not proven"),
    "not checked": N_("never checked"),
    "too old": N_("check too old"),
    "cannot be told": N_("cannot be told"),
}


@dataclass(frozen=True, slots=True)
class Ready:
    """One room today.

    why          message id: what the verdict rests on
    check_age_h  hours since the last check
    ach_age_days days since the air changes were measured; None: never
    ach_stale    whether that is longer than the department allows, or was never done
    """

    room: Room
    last: RoomCheck | None
    checks: tuple[RoomCheck, ...]
    verdict: Verdict
    why: str
    check_age_h: float | None
    ach_age_days: int | None
    ach_stale: bool

    @property
    def needs_look(self) -> bool:
        return self.verdict != "proven" or self.ach_stale


def ready(room: Room, checks: Sequence[RoomCheck], now: datetime, today: date, *, check_h: int, ach_days: int) -> Ready:
    """A room judged at a moment. checks: oldest first."""
    last = checks[-1] if checks else None
    verdict, why = _judged(room, last, now, check_h)
    age = None if last is None else (now - last.checked_at).total_seconds() / 3600
    measured = None if room.ach is None or room.ach_on is None else (today - room.ach_on).days
    return Ready(
        room, last, tuple(checks), verdict, why, age, measured, measured is None or measured > ach_days
    )  # fmt: skip


def _judged(room: Room, last: RoomCheck | None, now: datetime, check_h: int) -> tuple[Verdict, str]:
    if last is None:
        return "not checked", N_("Nobody has read its pressure yet.")
    if (now - last.checked_at).total_seconds() > check_h * 3600:
        return "too old", N_("The last check is older than the department allows.")
    if not last.door_shut:
        return "not proven", N_("The door was open when it was read.")
    if room.meant is None:
        return "cannot be told", N_("The register does not say how it is meant to be run.")
    if last.pressure_pa is not None and room.reference and last.reference != room.reference:
        return "cannot be told", N_("It was read against another reference point than the register has.")
    if (wrong := _direction(room, last)) is not None:
        return "not proven", wrong
    if last.pressure_pa is None:
        return "cannot be told", N_("The pressure was not read.")
    return _pressure(room, last.pressure_pa)


def _direction(room: Room, last: RoomCheck) -> str | None:
    if last.direction == "not clear":
        return N_("The direction of the air was not clear.")
    meant = {"negative": "inwards", "positive": "outwards"}.get(room.meant or "")
    if meant is not None and last.direction not in (None, meant):
        return N_("The air went the wrong way.")
    return None


def _pressure(room: Room, pressure_pa: float) -> tuple[Verdict, str]:
    limit = room.limit_pa
    if room.meant == "neutral":
        within = limit is None or abs(pressure_pa) <= abs(limit)
    elif room.meant == "positive":
        within = pressure_pa > 0 and (limit is None or pressure_pa >= limit)
    else:
        within = pressure_pa < 0 and (limit is None or pressure_pa <= limit)
    if within:
        return "proven", N_("The last reading is as it is meant to be.")
    return "not proven", N_("The last reading is not as it is meant to be.")
