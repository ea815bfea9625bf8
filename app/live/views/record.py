"""The record of a case at the desk: every entry in order of happening, corrections in sight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from app.case.happening import Happening
from app.case.intervals import WORDS, intervals
from app.case.sentences import details, sentence
from app.case.vocabulary.course import RoleAssign
from app.live.now import CaseNow
from app.live.views.fields import ask, interval_words
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class More:
    """One more thing that an entry said, with its unit."""

    label: str
    value: Any
    unit: str


@dataclass(frozen=True, slots=True)
class Line:
    """One entry: when, what in words, who for, what a reader must know of it, and the tap that voids it."""

    id: str
    at: datetime
    kind: str
    message: str
    params: Mapping[str, Any]
    details: tuple[More, ...]
    role: str
    marks: tuple[str, ...]
    stands: bool
    void: Offer | None


@dataclass(frozen=True, slots=True)
class Interval:
    """One computed interval: code, what it measures, and its parts as (whose, words)."""

    code: str
    label: str
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class RecordView:
    """The whole record with its computed intervals."""

    room: str
    ref: str
    title: str
    life: str
    opened_at: datetime | None
    lines: tuple[Line, ...]
    intervals: tuple[Interval, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RecordView:
        case = cases[0]
        return cls(
            case.room,
            case.state.setup.ref or "",
            case.protocol.title,
            case.life.value,
            case.state.opened_at,
            tuple(_line(case, h) for h in case.history),
            tuple(_interval(case, code, value) for code, value in intervals(case.state).items()),
        )


def _more(h: Happening) -> tuple[More, ...]:
    return tuple(More(ask(h.kind, one.field).label, one.value, one.unit) for one in details(h) if one.field != "ref")


def _interval(case: CaseNow, code: str, value: Any) -> Interval:
    parts = interval_words(code, value)
    return Interval(
        code, WORDS[code], tuple((case.person(label).name if label else "", words) for label, words in parts)
    )


def _line(case: CaseNow, h: Happening) -> Line:
    said = sentence(h)
    names = copy(said.params)
    for field in said.people:
        names[field] = case.person(str(names[field])).name
    if h.kind == "role.assign" and isinstance(h.body, RoleAssign):
        names["roles"] = ", ".join(f"{role} {case.person(p).name}" for role, p in h.body.roles().items())
    void = None
    if h.stands and h.kind not in ("tap.void", "case.open"):
        void = Offer("tap.void", "Did not happen", case.id, {"ref": h.id, "why": "marked at the desk"})
    return Line(h.id, h.at, h.kind, said.message, names, _more(h), h.role or "", tuple(sorted(h.marks)), h.stands, void)
