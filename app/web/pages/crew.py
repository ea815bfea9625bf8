"""The crew of a new case: for each role everybody on shift, who can take it first. Part of the desk's form."""

from __future__ import annotations

import asyncio
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


async def crew(request: Request) -> HTMLResponse:
    """POST: the roles with their people, for what the form says of the infection so far; what was chosen stays."""
    form, live = await form_of(request), live_of(request)
    busy = frozenset(person.id for case in live.seen((ALL,)) for person in case.crew)
    ranked, shift = await asyncio.to_thread(
        _ranked, live, form.get("pathogen", ""), form.get("precaution") or None, busy
    )
    chosen = {code: form.get(f"role-{code}", "") for code in CREW}
    return show(request, "parts/_crew_pick.html", ranked=ranked, shift=shift, chosen=chosen)


def _ranked(
    live: Live, pathogen: str, precaution: str | None, busy: frozenset[str]
) -> tuple[tuple[tuple[str, str, tuple[Choice, ...]], ...], str | None]:
    """(code, words, choices) of each role, and the name of the shift that is on; None where it names nobody."""
    now = utc_now()
    today, engine = now.astimezone(live.zone).date(), live.engine
    shift = people.shift_at(engine, now)
    on = set(shift.people.split()) if shift is not None else set()
    known = _known(live, pathogen, now, on or None, busy)
    counted = kit.stock(engine)
    stock = frozenset(model.model for model, count in counted if count.counted > 0) if counted else None
    days = rule_days("R06", "drill_valid_days")
    return tuple(
        (
            code,
            ROLES[code],
            choices(known, role=code, precaution=precaution, stock=stock, today=today, drill_days=days),
        )
        for code in CREW
    ), shift.name if shift is not None and on else None


def _known(live: Live, pathogen: str, now: datetime, on_shift: set[str] | None, busy: frozenset[str]) -> list[Known]:
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
        if on_shift is None or one.id in on_shift
    ]
