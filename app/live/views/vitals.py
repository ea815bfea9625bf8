"""Figures read off the monitor, by big steppers that start from the last value; which ones, by what is going on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.life import latest_vital
from app.case.steps import induction
from app.live.now import CaseNow
from app.live.views.details import Stepper, stepper

_ALWAYS = ("spo2", "sbp", "hr")


@dataclass(frozen=True, slots=True)
class Figure:
    """One stepper with the value last read, if any, and when."""

    stepper: Stepper
    last: float | None
    at: datetime | None


@dataclass(frozen=True, slots=True)
class Group:
    """Figures that one tap records together: what was moved or touched, and nothing else."""

    kind: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class VitalsView:
    """The figures that the room can record without a keyboard."""

    case: str
    groups: tuple[Group, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> VitalsView:
        case = cases[0]
        names = (*_ALWAYS, *_fourth(case))
        figures = tuple(_figure(case, name) for name in names)
        return cls(case.id, (Group("vitals", figures), *_cuff(case)))


def figures(case: CaseNow) -> int:
    """How many figures the page shows now, a line each."""
    return len(_ALWAYS) + len(_fourth(case)) + len(_cuff(case))


def _figure(case: CaseNow, name: str) -> Figure:
    last = latest_vital(case.state, name)
    return Figure(stepper(case.state, "vitals", name), last[0] if last else None, last[1] if last else None)


def _fourth(case: CaseNow) -> tuple[str, ...]:
    """Exhaled oxygen while the patient breathes it before induction; exhaled CO2 once an airway is proven."""
    state = case.state
    if state.airway.proven_at is not None:
        return ("etco2",)
    return ("eto2",) if state.all("preox.start") and induction(state) is None else ()


def _cuff(case: CaseNow) -> tuple[Group, ...]:
    """The cuff's pressure while a proven tube has one: it is read again and again (R33)."""
    airway = case.state.airway
    if airway.proven_at is None or airway.cuff_up_at is None:
        return ()
    return (Group("cuff.check", (Figure(stepper(case.state, "cuff.check", "cuff"), None, airway.cuff_up_at),)),)
