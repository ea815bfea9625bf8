"""The crew of a new case: for each role who is on shift, the best first, then everybody else. Part of the desk form."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import datetime, timedelta

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.base.kinds import ROLES
from app.base.time import utc_now
from app.kit import store as kit
from app.live.attention import rule_days
from app.live.hub import ALL
from app.live.live import Live
from app.people import store as people
from app.people.crew_finder import Choice, Known, choices
from app.people.fit import last_passed
from app.web.deps import live_of
from app.web.forms import form_of
from app.web.pages.frame import show

CREW = ("TL", "AO", "AA", "DM", "DOC", "DR", "SO", "PO")
EXPOSED_D = 7


@dataclass(frozen=True, slots=True)
class RolePick:
    """Who may be picked for a role: people of the shift that is on, and everybody else; all on shift where none is."""

    code: str
    label: str
    on_shift: tuple[Choice, ...]
    others: tuple[Choice, ...]


async def crew(request: Request) -> HTMLResponse:
    """POST: the roles with their people, for what the form says of the infection so far; what was chosen stays."""
    form, live = await form_of(request), live_of(request)
    busy = frozenset(person.id for case in live.seen((ALL,)) for person in case.crew)
    picks, shift = await asyncio.to_thread(_picks, live, form.get("pathogen", ""), form.get("precaution") or None, busy)
    chosen = {code: form.get(f"role-{code}", "") for code in CREW}
    return show(request, "parts/_crew_pick.html", picks=picks, shift=shift, chosen=chosen)


def _picks(
    live: Live, pathogen: str, precaution: str | None, busy: frozenset[str]
) -> tuple[tuple[RolePick, ...], str | None]:
    """Each role with its people, and the name of the shift that is on; None where it names nobody."""
    now = utc_now()
    today, engine = now.astimezone(live.zone).date(), live.engine
    shift = people.shift_at(engine, now)
    on = set(shift.people.split()) if shift is not None else set()
    known = _known(live, pathogen, now, busy)
    counted = kit.stock(engine)
    stock = frozenset(model.model for model, count in counted if count.counted > 0) if counted else None
    days = rule_days("R06", "drill_valid_days")
    found = (
        (code, choices(known, role=code, precaution=precaution, stock=stock, today=today, drill_days=days))
        for code in CREW
    )
    return tuple(
        RolePick(
            code,
            ROLES[code],
            tuple(one for one in ranked if not on or one.person.id in on),
            tuple(one for one in ranked if on and one.person.id not in on),
        )
        for code, ranked in found
    ), shift.name if shift is not None and on else None


def _known(live: Live, pathogen: str, now: datetime, busy: frozenset[str]) -> list[Known]:
    engine, today = live.engine, now.astimezone(live.zone).date()
    passed = last_passed(people.fit_tests(engine), people.practice(engine).fit_reading)
    valid = rule_days("R05", "fit_valid_days")
    recorded = people.immunity(engine)
    asked = next((o.immunity for o in people.organisms(engine) if o.name.casefold() == pathogen.casefold()), None)
    worn = [w.p for case in live.registers.usage.since(now - timedelta(days=EXPOSED_D)) for w in case.worn]
    return [
        Known(
            one.id,
            one.name,
            one.job,
            roles=frozenset(one.roles.split()),
            fitted=frozenset(m for m, test in passed.get(one.id, {}).items() if (today - test.on).days <= valid),
            hood=one.hood,
            drill=one.drill,
            may_enter=people.may_enter(recorded.get(one.id, {}), asked),
            no_entry=one.no_entry,
            worn=worn.count(one.id),
            elsewhere=one.id in busy,
        )
        for one in people.people(engine)
    ]
