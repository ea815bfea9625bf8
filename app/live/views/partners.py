"""Who looks at whom: who reads the steps, who helps, who is at it already; and until when equipment may be worn.

Nothing here is stored: it is read off the roles and the checks that are under way (job map 5; R16, R19, R20, R22).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.base.messages import N_
from app.case.rules.protection import Check, open_checks
from app.case.rules.settings import pinned
from app.case.state import Person
from app.live.now import CaseNow

OWN_TIMES = N_("longest in this case")
PLANNED = N_("as the procedure plans")


@dataclass(frozen=True, slots=True)
class Partner:
    """Somebody who can stand by: id, working name, role code, and whom they are with (names), if anybody."""

    id: str
    name: str
    role: str
    busy_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Wear:
    """Until when equipment may be worn, and from when the relief must dress.

    limit_min      the department's limit for this ensemble [min] (R19)
    out_by         since when it is worn plus the limit
    relief_from    out_by less the time that it takes to dress; None while that is not known
    dress_s        time to dress [s]: the longest so far in this case, otherwise the procedure's own figure
    known_from     where dress_s comes from (a message id)
    """

    limit_min: float
    out_by: datetime
    relief_from: datetime | None
    dress_s: int | None
    known_from: str


def reader(case: CaseNow, subject: str, cases: Sequence[CaseNow] = ()) -> Partner | None:
    """Who reads the steps aloud and looks: the observer where there is one, otherwise the runner. Never the wearer."""
    return _first(case, ("PO", "DR", "OR"), subject, cases)


def helper(case: CaseNow, subject: str, cases: Sequence[CaseNow] = ()) -> Partner | None:
    """Who is with somebody who undresses. The observer keeps their hands off while anybody else is there (CDCVHF)."""
    return _first(case, ("DR", "OR", "PO"), subject, cases)


def _first(case: CaseNow, roles: tuple[str, ...], subject: str, cases: Sequence[CaseNow]) -> Partner | None:
    for role in roles:
        for p in case.state.roles.get(role, ()):
            if p != subject:
                return Partner(p, case.person(p).name, role, busy_with(p, subject, cases or (case,)))
    return None


def busy_with(checker: str, subject: str, cases: Sequence[CaseNow]) -> tuple[str, ...]:
    """Names of the others whom this checker is looking at, in any of these cases: one check at a time (R16)."""
    return tuple(
        case.person(check.subject).name
        for case in cases
        for check in open_checks(case.state)
        if check.checker == checker and check.subject != subject
    )


def check_of(case: CaseNow, subject: str, phase: str) -> Check | None:
    """The check of somebody that is under way."""
    return next((c for c in open_checks(case.state) if c.subject == subject and c.phase == phase), None)


def undressing(case: CaseNow, cases: Sequence[CaseNow], but: str) -> tuple[str, ...]:
    """Names of others who undress in the same place: this case, or one that shares its anteroom (R20)."""
    room = case.state.room.anteroom
    return tuple(
        person.name
        for one in cases or (case,)
        if one.id == case.id or (room is not None and one.state.room.anteroom == room)
        for person in one.state.people.values()
        if person.id != but and person.doff_start is not None and person.doff_done is None
    )


def dress_time(case: CaseNow) -> tuple[int | None, str]:
    """Seconds that dressing takes, and where the figure comes from: this case's slowest, else the procedure's plan."""
    own = [
        (person.checked_at - person.don_start).total_seconds()
        for person in case.state.people.values()
        if person.check_ok and person.checked_at is not None and person.don_start is not None
    ]
    if own:
        return round(max(own)), OWN_TIMES
    for _, milestone in case.protocol.milestones():
        target = milestone.target
        if milestone.kind == "check.done" and target is not None and target.at_most_s is not None:
            return target.at_most_s, PLANNED
    return None, ""


def wear(case: CaseNow, person: Person) -> Wear | None:
    """The plan for somebody in equipment; None where no limit is set for what they wear, or they wear none."""
    setting = pinned(case.state).get("R19")
    if not person.dressed or person.don_start is None or setting is None or not setting.on:
        return None
    limit = setting.thresholds.get(f"{person.ensemble}_min")
    if limit is None:
        return None
    out_by = person.don_start + timedelta(minutes=limit)
    dress_s, known_from = dress_time(case)
    relief = None if dress_s is None else out_by - timedelta(seconds=dress_s)
    return Wear(limit, out_by, relief, dress_s, known_from)
