"""The start page, and the demo's way in."""

from __future__ import annotations

import asyncio

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse

from app.base.errors import Unknown
from app.base.time import utc_now
from app.stations import store
from app.stations.values import KINDS
from app.web.deps import cookie_name, live_of, stations_of
from app.web.pages.frame import show

COOKIE_LIFE_S = 180 * 24 * 3600


async def start(request: Request) -> HTMLResponse:
    """What this is, and where to go."""
    stations = sorted(stations_of(request).values(), key=lambda station: KINDS.index(station.kind))
    return show(request, "start.html", stations=stations)


async def open_demo(request: Request, kind: str) -> RedirectResponse:
    """Pairs this browser as a station of a kind and opens its page. In the demo only: everything in it is invented."""
    if kind not in KINDS:
        raise Unknown("There is no such kind of screen.", do="Go back to the start page.")
    target = f"/{kind}"
    if kind == "inside" and (left := request.app.state.demo.left_to_the_user):
        target = f"/inside?case={left}"
    response = RedirectResponse(target, status_code=303)
    if not any(station.kind == kind for station in stations_of(request).values()):
        live = live_of(request)
        cookie = await asyncio.to_thread(store.pair, live.engine, kind=kind, label=f"Demo {kind}", now=utc_now())
        response.set_cookie(
            cookie_name(kind),
            cookie,
            max_age=COOKIE_LIFE_S,
            httponly=True,
            samesite="strict",
            secure=request.url.scheme == "https",
        )
    return response


async def restart_demo(request: Request) -> RedirectResponse:
    """Ends the demo's cases and begins them anew."""
    await request.app.state.demo.restart()
    return RedirectResponse("/", status_code=303)
