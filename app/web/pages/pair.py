"""Pages of a screen itself, whoever holds it: pairing by a code, and what works on it."""

from __future__ import annotations

import asyncio

from fastapi import Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from app import __version__
from app.base.errors import DoorsideError, Revoked, TooOften
from app.base.time import utc_now
from app.journal import store as journal
from app.live.live import Live
from app.stations import codes, store
from app.stations.codes import LENGTH, LETTERS
from app.stations.values import Plan
from app.web.api.stations import STATION_PAGES
from app.web.deps import cookie_name, known_stations_of, live_of, stations_of
from app.web.errors import answer
from app.web.forms import form_of
from app.web.lines import lines_of
from app.web.pages.frame import show

COOKIE_LIFE_S = 180 * 24 * 3600


async def pair(request: Request) -> HTMLResponse:
    """Large keys for a code. A screen whose pairing was ended still delivers what waits on it from here."""
    return _page(request)


async def in_place(request: Request, error: Exception) -> Response:
    """What a revoked screen gets instead of its page: from here it delivers what waits, and is paired again."""
    assert isinstance(error, Revoked)
    if request.method != "GET" or "text/html" not in request.headers.get("accept", ""):
        return answer(request, error)
    response = _page(request)
    response.status_code = error.status
    return response


def _page(request: Request, error: DoorsideError | None = None, typed: str = "") -> HTMLResponse:
    ended = [station for station in known_stations_of(request).values() if station.revoked]
    return show(
        request,
        "pair.html",
        page="pair",
        status_code=error.status if error else 200,
        error=error,
        typed=typed,
        letters=LETTERS,
        length=LENGTH,
        **({"station": ended[0]} if ended else {}),
    )


async def use_code(request: Request) -> Response:
    """POST: pairs this browser as the code says and opens its page, or says what is wrong with the code.

    A browser that proves to have been a station of that kind goes on under its id: what waits in it stays its own.
    """
    live, typed = live_of(request), (await form_of(request)).get("code", "")[:40]
    try:
        request.app.state.pairing.attempt(request.client.host if request.client else "")
        code = codes.read(typed)
        plan = await asyncio.to_thread(codes.use, live.engine, code, request.app.state.code_key, utc_now())
    except DoorsideError as error:
        return _page(request, error, typed if isinstance(error, TooOften) else "")
    before = next((one.id for one in known_stations_of(request).values() if one.kind == plan.kind), None)
    cookie = await asyncio.to_thread(_pair, live, plan, before)
    await lines_of(request).look()
    response = RedirectResponse(STATION_PAGES[plan.kind], status_code=303)
    set_cookie(response, request, plan.kind, cookie)
    return response


def _pair(live: Live, plan: Plan, before: str | None) -> str:
    cases = plan.cases
    if plan.room is not None:
        heads = journal.heads(live.engine, journal.open_cases(live.engine))
        cases = tuple(head.case for head in heads if head.room_id == plan.room)
    return store.pair(
        live.engine,
        kind=plan.kind,
        label=plan.label,
        now=utc_now(),
        cases=cases,
        language=plan.language,
        room=plan.room,
        renews=before,
    )


def set_cookie(response: Response, request: Request, kind: str, cookie: str) -> None:
    """Gives a browser the secret of its station: no script reads it, no other site sends it."""
    response.set_cookie(
        cookie_name(kind),
        cookie,
        max_age=COOKIE_LIFE_S,
        httponly=True,
        samesite="strict",
        secure=request.url.scheme == "https",
    )


async def diagnostics(request: Request) -> HTMLResponse:
    """What works on this screen and what does not, in words. Filled by the page itself, so it works offline too."""
    station = next(iter(stations_of(request).values()))
    return show(request, "diagnostics.html", page="diagnostics", station=station, version=__version__)
