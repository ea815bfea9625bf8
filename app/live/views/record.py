"""The record of a case at the desk: every entry in order of happening, corrections in sight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from app.case.correction import first_taps
from app.case.happening import Happening
from app.case.intervals import WORDS, intervals
from app.case.rules.catalogue import WORDS as RULES
from app.case.rules.settings import pinned, switched_off
from app.case.sentences import details
from app.live.now import CaseNow
from app.live.views import told
from app.live.views.corrections import Change, Correction, changes, correction
from app.live.views.fields import ask, interval_words
from app.live.views.notices import Shown, shown


@dataclass(frozen=True, slots=True)
class More:
    """One more thing that an entry said, with its unit."""

    label: str
    value: Any
    unit: str


@dataclass(frozen=True, slots=True)
class Line:
    """One entry: when, what in words, who for, what a reader must know of it, what it said at first, how to mend it.

    by  who was signed in at the desk where it was made
    """

    id: str
    at: datetime
    kind: str
    message: str
    params: Mapping[str, Any]
    details: tuple[More, ...]
    role: str
    marks: tuple[str, ...]
    stands: bool
    first: tuple[Change, ...]
    correct: Correction | None
    by: str = ""


@dataclass(frozen=True, slots=True)
class Interval:
    """One computed interval: code, what it measures, and its parts as (whose, words)."""

    code: str
    label: str
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Off:
    """A rule that the case's protocol has switched off: number, name, and the department's reason."""

    rule: str
    name: str
    why: str


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
    notices: tuple[tuple[Shown, str], ...]
    off: tuple[Off, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RecordView:
        case = cases[0]
        first = {h.id: h for h in first_taps(case.entries)}
        return cls(
            case.room,
            case.state.setup.ref or "",
            case.protocol.title,
            case.life.value,
            case.state.opened_at,
            tuple(_line(case, h, first.get(h.id)) for h in case.history),
            tuple(_interval(case, code, value) for code, value in intervals(case.state).items() if value is not None),
            tuple((shown(case, life), life.end.value if life.end else "open") for life in case.notices),
            _off(case),
        )


def _off(case: CaseNow) -> tuple[Off, ...]:
    settings = pinned(case.state)
    return tuple(
        Off(rule, RULES[rule].name, settings[rule].why_off or "") for rule in switched_off(settings) if rule in RULES
    )


def _more(case: CaseNow, h: Happening) -> tuple[More, ...]:
    return tuple(
        More(ask(h.kind, "p").label, case.person(str(one.value)).name, "")
        if h.kind == "local.done" and one.value in case.state.people  # a step of dressing says whose it was
        else More(ask(h.kind, one.field).label, told.word(case, one), one.unit)
        for one in details(h)
        if one.field != "ref"
    )


def _interval(case: CaseNow, code: str, value: Any) -> Interval:
    parts = tuple((_whose(case, code, label), words) for label, words in interval_words(code, value))
    return Interval(code, WORDS[code], parts)


def _whose(case: CaseNow, code: str, label: str) -> str:
    """The name of the person, or of what was asked for; an attempt has its number, a whole interval nobody."""
    if code == "I14":
        request = case.state.requests.get(label)
        return request.item or label if request is not None else label
    return case.person(label).name if label else ""


def _line(case: CaseNow, h: Happening, first: Happening | None) -> Line:
    message, places = told.sentence(case, h)
    marks = tuple(sorted(h.marks))
    return Line(
        h.id, h.at, h.kind, message, places, _more(case, h), h.role or "", marks, h.stands,
        changes(case, h, first), correction(case, h), str(h.facts.get("by", {}).get("name", "")),
    )  # fmt: skip
