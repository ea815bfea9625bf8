"""Files of registers: CSV out, CSV in with a dry run, confirming it, and taking an import back as a whole."""

from __future__ import annotations

import asyncio
from typing import Any

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from app.base.messages import N_
from app.base.register import imports, sheet
from app.base.register.spec import Register
from app.base.register.store import files, reading
from app.base.time import utc_now
from app.live import books
from app.live.live import Live
from app.web.deps import live_of, station_of
from app.web.pages.frame import show
from app.web.pages.registers import PATH, changed, may_edit, opened, who
from app.web.upload import upload_of

STATES = {
    "tried": N_("tried"),
    "done": N_("taken over"),
    "undone": N_("taken back"),
    "out": N_("given out"),
}


async def export(request: Request, register: str) -> Response:
    """GET: the whole register as CSV. Who took it is kept."""
    book, live = opened(request, register), live_of(request)
    raw = await asyncio.to_thread(_exported, book, live, who(request))
    name = f"doorside-{register}-{utc_now().astimezone(live.zone):%Y-%m-%d}.csv"
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}
    return Response(raw, media_type="text/csv; charset=utf-8", headers=headers)


def _exported(book: Register, live: Live, by: str) -> bytes:
    rows = reading.find(book, live.engine)
    files.exported(live.engine, book.name, who=by, now=utc_now(), rows=len(rows))
    return sheet.written(book, rows, books.names_for(live.engine, book), live.zone)


async def page(request: Request, register: str) -> Response:
    """GET: the form, and earlier files."""
    return await _page(request, opened(request, register), plan=None, file_id="", rows=0)


async def attempt(request: Request, register: str) -> Response:
    """POST: a dry run. Nothing is changed; every problem is named."""
    book, live = opened(request, register), live_of(request)
    given = await upload_of(request)
    names = await asyncio.to_thread(books.names_for, live.engine, book)
    file_id, plan = await asyncio.to_thread(
        imports.tried, book, live.engine, given.raw, given.name,
        who=who(request), now=utc_now(), names=names, zone=live.zone,
    )  # fmt: skip
    rows = max((problem.line or 0 for problem in plan.problems), default=0)
    kept = await asyncio.to_thread(files.latest, live.engine, book.name, 1)
    return await _page(request, book, plan=plan, file_id=file_id, rows=kept[0].rows if kept else rows)


async def confirm(request: Request, register: str, file: str) -> Response:
    """POST: does what the dry run said."""
    book, live = opened(request, register), live_of(request)
    names = await asyncio.to_thread(books.names_for, live.engine, book)
    await asyncio.to_thread(
        imports.confirmed, book, live.engine, file, who=who(request), now=utc_now(), names=names, zone=live.zone
    )
    await changed(request)
    return RedirectResponse(f"{PATH}/{register}", status_code=303)


async def undo(request: Request, register: str, file: str) -> Response:
    """POST: takes an import back, all of it or nothing."""
    book, live = opened(request, register), live_of(request)
    await asyncio.to_thread(imports.undone, book, live.engine, file, who=who(request), now=utc_now())
    await changed(request)
    return RedirectResponse(f"{PATH}/{register}/import", status_code=303)


async def starters(request: Request, register: str) -> Response:
    """POST: takes over the rows that come with Doorside."""
    book, live = opened(request, register), live_of(request)
    rows = await asyncio.to_thread(books.starters, live.engine, book)
    await asyncio.to_thread(imports.put_starters, book, live.engine, rows, who=who(request), now=utc_now())
    await changed(request)
    return RedirectResponse(f"{PATH}/{register}", status_code=303)


async def _page(request: Request, book: Register, **context: Any) -> Response:
    live = live_of(request)
    earlier = await asyncio.to_thread(files.latest, live.engine, book.name)
    people = {p: str(facts["name"]) for p, facts in live.registers.people.items()}
    return show(
        request, "register_import.html", page="registers", station=station_of(request, "desk"), path=PATH, book=book,
        files=earlier, states=STATES, who={**people, "desk": N_("the desk")}, editor=may_edit(request), **context,
    )  # fmt: skip
