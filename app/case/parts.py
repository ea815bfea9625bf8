"""The parts of a case's state: setting, plan, people, things, airway. Plain frozen data.

Unknown is None. Times are corrected times of happening.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from app.case.mappings import EMPTY


class RequestState(StrEnum):
    """asked → acknowledged → handed in → received, or cancelled."""

    ASKED = "asked"
    ACKNOWLEDGED = "acknowledged"
    HANDED_IN = "handed in"
    RECEIVED = "received"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class Setup:
    """What the call said: figures are unknown until said. pbw [kg], weight_kg [kg], height_cm [cm].

    shift_changes  when shifts change around the call, as the register had it
    """

    ref: str | None = None
    procedure: str | None = None
    pathogen: str | None = None
    precaution: str | None = None
    urgency: str | None = None
    age: str | float | None = None
    sex: str | None = None
    pbw_kg: float | None = None
    weight_kg: float | None = None
    height_cm: float | None = None
    difficult: str | None = None
    immune_needed: str | None = None
    shift_end: str | None = None
    tx_min: float | None = None
    o2_lpm: float | None = None
    shift_changes: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class Room:
    """The room: air changes ach [1/h], clear [% removed], mixing factor, last pressure [Pa], IANA time zone."""

    id: str | None = None
    name: str | None = None
    ach: float | None = None
    clear_percent: float | None = None
    mixing: float | None = None
    anteroom: str | None = None
    pressure_pa: float | None = None
    ready_at: datetime | None = None
    tz: str = "UTC"


@dataclass(frozen=True, slots=True)
class Plan:
    """Plans A to D in words, and which of them are settled."""

    steps: frozenset[str] = frozenset()
    words: Mapping[str, str] = EMPTY
    tube: float | str | None = None
    sga: float | str | None = None
    ventilation: str | None = None
    set_at: datetime | None = None
    briefed_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """One stay in the room."""

    entered: datetime
    left: datetime | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody in this case: what the registers said of them, what they wear, where they are.

    seal_ok, check_ok   since the last donning began; None = not tried
    """

    id: str
    facts: Mapping[str, Any] = EMPTY
    ensemble: str | None = None
    respirator: str | None = None
    don_start: datetime | None = None
    seal_ok: bool | None = None
    check_ok: bool | None = None
    checked_at: datetime | None = None
    stays: tuple[Stay, ...] = ()
    visit: str | None = None
    doff_start: datetime | None = None
    doff_partner: str | None = None
    doff_done: datetime | None = None
    breached_at: datetime | None = None

    @property
    def inside(self) -> bool:
        return bool(self.stays) and self.stays[-1].left is None

    @property
    def name(self) -> str:
        """Working name: what the register said, otherwise the label used in the case."""
        return str(self.facts.get("name") or self.id)

    @property
    def stage(self) -> str:
        """named → donning → checked → inside → out → doffing → clean."""
        if self.inside:
            return "inside"
        if self.doff_done is not None:
            return "clean"
        if self.doff_start is not None:
            return "doffing"
        if self.stays:
            return "out"
        if self.check_ok:
            return "checked"
        return "donning" if self.don_start is not None else "named"

    @property
    def dressed(self) -> bool:
        """Wears protective equipment: began to dress and is not clean yet."""
        return self.don_start is not None and self.doff_done is None


@dataclass(frozen=True, slots=True)
class Tray:
    """A tray as it was last staged."""

    has: tuple[str, ...]
    missing: tuple[str, ...]
    expired: tuple[str, ...]
    staged_at: datetime


@dataclass(frozen=True, slots=True)
class Request:
    """Something asked for through the door."""

    q: str
    item: str | None = None
    urgency: str = "soon"
    offered: str | None = None
    asked: datetime | None = None
    acknowledged: datetime | None = None
    runner: str | None = None
    via: str | None = None
    handed_in: datetime | None = None
    received: datetime | None = None
    cancelled: datetime | None = None

    @property
    def state(self) -> RequestState:
        if self.cancelled is not None:
            return RequestState.CANCELLED
        if self.received is not None:
            return RequestState.RECEIVED
        if self.handed_in is not None:
            return RequestState.HANDED_IN
        return RequestState.ASKED if self.acknowledged is None else RequestState.ACKNOWLEDGED

    @property
    def open(self) -> bool:
        return self.received is None and self.cancelled is None


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt at the airway."""

    n: int
    started: datetime
    operator: str | None = None
    device: str | None = None
    ended: datetime | None = None
    result: str | None = None
    view: str | float | None = None


@dataclass(frozen=True, slots=True)
class Airway:
    """Which airway the patient has, and whether it is proven.

    stage: own breathing, oxygenating, apnoeic, attempt, unproven, proven, secured, rescue B/C/D, awake
    device: tube, sga, neck or tracheostomy; None = none of the team's making
    """

    stage: str = "own breathing"
    device: str | None = None
    size: float | str | None = None
    placed_at: datetime | None = None
    cuff_up_at: datetime | None = None
    cuff_cmh2o: float | str | None = None
    breath_at: datetime | None = None
    proven_at: datetime | None = None
    secured_at: datetime | None = None
    rescue: str | None = None


@dataclass(frozen=True, slots=True)
class Circuit:
    """The breathing circuit: since when it is open, clamped, or ventilation held; None = not."""

    clamped_since: datetime | None = None
    open_since: datetime | None = None
    held_since: datetime | None = None
