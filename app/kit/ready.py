"""Is a kit ready: what it lacks by its list, what is past its date or soon will be, its seal, its last check."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from app.kit.cylinders import CODE, Judged
from app.kit.tables import Kit, KitCheck, KitContent, KitTemplate, KitTemplateItem

AHEAD_DAYS = (30, 60, 90)
"""How far ahead the forecast of expiry looks [days]."""


@dataclass(frozen=True, slots=True)
class Lack:
    """An item of which there is too little. `expired`: what is there of it is past its date."""

    code: str
    name: str
    wanted: int
    there: int
    mandatory: bool
    expired: bool


@dataclass(frozen=True, slots=True)
class Ready:
    """One kit today.

    names       code -> what its list calls it
    lacks       items that are short, the mandatory ones first
    expired     contents past their date
    soon        (days, contents that expire within them and not within the fewer days before)
    cylinders   those that lie in it
    check_due   whether nobody looked within the hours that the department allows, or the seal was not as it should be
    seal_other  the number that was read last, when it is not the kit's
    """

    kit: Kit
    list_name: str
    names: Mapping[str, str]
    tray: str
    has: tuple[str, ...]
    lacks: tuple[Lack, ...]
    expired: tuple[KitContent, ...]
    soon: tuple[tuple[int, tuple[KitContent, ...]], ...]
    last: KitCheck | None
    check_due: bool
    seal_other: str | None
    after_use: bool
    cylinders: tuple[Judged, ...] = ()

    @property
    def needs_look(self) -> bool:
        return bool(self.lacks or self.expired or self.check_due or any(one.needs_look for one in self.cylinders))

    @property
    def staged(self) -> Mapping[str, Any]:
        """The body of a `kit.staged` entry that this kit makes: R10, R40 and R56 are fed by it."""
        short = [one for one in self.lacks if one.mandatory or one.expired]
        said = self.kit.name + (f", seal {self.kit.seal}" if self.kit.seal else "")
        return {
            "tray": self.tray,
            "has": list(self.has),
            "missing": [one.code for one in short if not one.expired],
            "expired": [one.code for one in short if one.expired],
            "note": said,
        }


def ready(
    kit: Kit,
    template: KitTemplate,
    items: Sequence[KitTemplateItem],
    contents: Sequence[KitContent],
    checks: Sequence[KitCheck],
    now: datetime,
    today: date,
    *,
    check_h: int,
    used_at: datetime | None = None,
    cylinders: Sequence[Judged] = (),
) -> Ready:
    """A kit judged at a moment. A content may be used up to and on its date; a cylinder counts as oxygen of its list.

    checks   oldest first
    used_at  when a case last took it; it is to be looked at after that
    """
    good: dict[str, int] = {}
    old: dict[str, int] = {}
    for one in contents:
        past = one.expires_on is not None and one.expires_on < today
        counts = old if past else good
        counts[one.code] = counts.get(one.code, 0) + one.quantity
    for cylinder in cylinders:
        if not cylinder.lacking:
            good[CODE] = good.get(CODE, 0) + 1
        elif cylinder.verdict == "past its date":
            old[CODE] = old.get(CODE, 0) + 1
    lacks = [
        Lack(one.code, one.name, one.quantity, good.get(one.code, 0), one.mandatory, one.code in old)
        for one in items
        if good.get(one.code, 0) < one.quantity
    ]
    last = checks[-1] if checks else None
    after_use = used_at is not None and (last is None or last.checked_at < used_at)
    other = last.seal if last is not None and last.whole and last.seal != kit.seal else None
    late = last is None or now - last.checked_at > timedelta(hours=check_h)
    return Ready(
        kit, template.name, {one.code: one.name for one in items}, template.tray,
        has=tuple(dict.fromkeys(one.code for one in items if good.get(one.code, 0) >= one.quantity)),
        lacks=tuple(sorted(lacks, key=lambda one: (not one.mandatory, one.name))),
        expired=tuple(one for one in contents if one.expires_on is not None and one.expires_on < today),
        soon=_soon(contents, today),
        last=last,
        check_due=late or after_use or other is not None or (last is not None and not last.whole),
        seal_other=other,
        after_use=after_use,
        cylinders=tuple(cylinders),
    )  # fmt: skip


def _soon(contents: Sequence[KitContent], today: date) -> tuple[tuple[int, tuple[KitContent, ...]], ...]:
    found = []
    past = -1
    for days in AHEAD_DAYS:
        within = [
            one for one in contents if one.expires_on is not None and past < (one.expires_on - today).days <= days
        ]
        found.append((days, tuple(sorted(within, key=lambda one: (one.expires_on, one.code)))))
        past = days
    return tuple(found)
