"""Notices where they belong: criticals large, warnings quiet, each until somebody has seen it or it is over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from app.case.rules.day import Life
from app.case.rules.settings import pinned
from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class Shown:
    """A notice as a page shows it. step: the department's own next step, one tap away; seen_at: when it was seen."""

    room: str
    rule: str
    critical: bool
    message: str
    params: dict[str, str]
    at: datetime
    late: bool
    step: str
    source: str
    seen_at: datetime | None
    seen: Offer


@dataclass(frozen=True, slots=True)
class NoticesView:
    """open: not seen yet, criticals first; seen: seen and still so."""

    open: tuple[Shown, ...]
    seen: tuple[Shown, ...]

    @classmethod
    def for_audience(cls, audience: str, cases: Sequence[CaseNow]) -> NoticesView:
        found = [shown(case, life) for case in cases for life in case.notices if current(case, life, audience)]
        found.sort(key=lambda one: (not one.critical, one.at))
        return cls(
            tuple(one for one in found if one.seen_at is None), tuple(one for one in found if one.seen_at is not None)
        )

    @classmethod
    def in_room(cls, cases: Sequence[CaseNow]) -> NoticesView:
        return cls.for_audience("room", cases)

    @classmethod
    def at_door(cls, cases: Sequence[CaseNow]) -> NoticesView:
        return cls.for_audience("door", cases)


def current(case: CaseNow, life: Life, audience: str) -> bool:
    """Whether a notice is to be shown to somebody now: a warning or critical for them that has not ended."""
    notice = life.notice
    setting = pinned(case.state).get(notice.rule)
    reaches = notice.severity == "C" and audience in ("room", "door")
    meant = setting is not None and audience in setting.audience
    return life.end is None and notice.severity in ("W", "C") and (meant or reaches)


def shown(case: CaseNow, life: Life) -> Shown:
    """A notice with names in place of ids, and the department's next step."""
    notice = life.notice
    setting = pinned(case.state).get(notice.rule)
    return Shown(
        case.room,
        notice.rule,
        notice.severity == "C",
        notice.message,
        {name: _named(case, value) for name, value in notice.params.items()},
        notice.at,
        notice.late,
        (setting.next_step or "") if setting else "",
        setting.source if setting else "",
        life.acknowledged,
        Offer("notice.ack", "Seen", case.id, {"rule": notice.rule, "subject": notice.subject}),
    )


def _named(case: CaseNow, value: Any) -> str:
    """A parameter as people read it: names for ids of people, figures without a needless zero."""
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list | tuple):
        return ", ".join(_named(case, one) for one in value)
    return ", ".join(case.person(part).name for part in str(value).split(", "))
