"""How a line of the record can be put right: its time, its values, or that it did not happen; what it said at first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from app.case.happening import Happening, Mark
from app.case.sentences import PEOPLE, unit_of
from app.case.vocabulary.words import NUMERIC
from app.live.now import CaseNow
from app.live.views.fields import ask
from app.live.views.taps import Offer, stored_body

_NOT_CORRECTED = frozenset({"case.open", "tap.fix", "tap.void", "role.assign", "notice.ack", "net.down", "net.up"})


@dataclass(frozen=True, slots=True)
class Field:
    """One value that can be put right. choices: people to pick from, as (id, name); empty for a free field."""

    name: str
    label: str
    unit: str
    value: str
    figure: bool
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Correction:
    """The form that corrects one entry."""

    id: str
    case: str
    at: datetime
    fields: tuple[Field, ...]
    void: Offer


@dataclass(frozen=True, slots=True)
class Change:
    """What a corrected entry said at first: its time, or a value."""

    label: str
    first: str
    at: datetime | None = None


def correction(case: CaseNow, h: Happening) -> Correction | None:
    """The form for an entry that stands; None for kinds that are put right by saying something new."""
    if not h.stands or h.kind in _NOT_CORRECTED:
        return None
    people = tuple((person.id, person.name) for person in case.crew)
    fields = tuple(
        Field(
            name,
            ask(h.kind, name).label,
            unit_of(h.kind, name),
            str(value),
            name in NUMERIC.get(h.kind, frozenset()) and isinstance(value, int | float),
            people if name in PEOPLE else (),
        )
        for name, value in stored_body(h).items()
        if isinstance(value, str | int | float) and name not in ("q", "note")
    )
    void = Offer("tap.void", "Did not happen", case.id, {"ref": h.id, "why": "marked at the desk"})
    return Correction(h.id, case.id, h.at, fields, void)


def changes(case: CaseNow, h: Happening, first: Happening | None) -> tuple[Change, ...]:
    """What was said at first, where a correction says something else now."""
    if first is None or not h.marks & {Mark.FIXED_TIME, Mark.FIXED_VALUE}:
        return ()
    found = [Change("", "", first.at)] if first.at != h.at else []
    was, now = stored_body(first), stored_body(h)
    for name in sorted(was.keys() | now.keys()):
        if was.get(name) != now.get(name):
            found.append(Change(ask(h.kind, name).label, _shown(case, name, was.get(name))))
    return tuple(found)


def _shown(case: CaseNow, name: str, value: Any) -> str:
    if value is None:
        return "–"
    return case.person(str(value)).name if name in PEOPLE else f"{value:g}" if isinstance(value, float) else str(value)
