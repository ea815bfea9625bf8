"""Protocols at the desk: the built-in ones, the department's own, a file taken in, approved by a second person."""

from __future__ import annotations

import asyncio

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from app.base.errors import NotValid
from app.base.time import utc_now
from app.protocol import store
from app.protocol.library import protocols
from app.protocol.positions import Mistake
from app.web.deps import live_of, station_of
from app.web.pages.frame import show
from app.web.pages.registers import PATH, changed, may_edit, who
from app.web.upload import upload_of

HERE = f"{PATH}/protocols"


async def page(request: Request) -> Response:
    """GET: what is in use, what waits, and the form for a file."""
    return await _page(request)


async def take_in(request: Request) -> Response:
    """POST: a file, checked whole; without a mistake it waits for approval."""
    given = await upload_of(request)
    try:
        text = given.raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotValid("That file is not in UTF-8.", holds="Nothing was kept.", do="Save it as UTF-8.") from error
    version, mistakes = await asyncio.to_thread(
        store.take_in, live_of(request).engine, text, given.name, who=who(request), now=utc_now()
    )
    if version is None:
        return await _page(request, mistakes, given.name, 422)
    return RedirectResponse(HERE, status_code=303)


async def approve(request: Request, version: str) -> Response:
    """POST: a second person puts a version into use."""
    await asyncio.to_thread(store.approve, live_of(request).engine, version, who=who(request), now=utc_now())
    await changed(request)
    return RedirectResponse(HERE, status_code=303)


async def withdraw(request: Request, version: str) -> Response:
    """POST: new cases are not pinned to a version any more."""
    await asyncio.to_thread(store.withdraw, live_of(request).engine, version, who=who(request), now=utc_now())
    await changed(request)
    return RedirectResponse(HERE, status_code=303)


async def file(request: Request, version: str) -> Response:
    """GET: a version's file as it was taken in."""
    text = await asyncio.to_thread(store.text_of, live_of(request).engine, version)
    headers = {"content-disposition": 'attachment; filename="protocol.yaml"', "cache-control": "no-store"}
    return Response(text, media_type="application/yaml; charset=utf-8", headers=headers)


async def _page(request: Request, mistakes: tuple[Mistake, ...] = (), name: str = "", status: int = 200) -> Response:
    live = live_of(request)
    people = {p: str(facts["name"]) for p, facts in live.registers.people.items()}
    return show(
        request, "protocols.html", status_code=status, page="registers", station=station_of(request, "desk"), path=PATH,
        home=HERE, versions=await asyncio.to_thread(store.versions, live.engine), built_in=protocols(), people=people,
        mistakes=mistakes, name=name, editor=may_edit(request), me=who(request), today=utc_now().date(),
    )  # fmt: skip
