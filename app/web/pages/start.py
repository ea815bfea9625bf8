"""The start page, and the demo's way in."""

from __future__ import annotations

import asyncio

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse

from app.base.errors import Unknown
from app.base.time import utc_now
from app.people.sign_in import store as sign_in
from app.stations import store
from app.stations.values import KINDS
from app.web import sessions
from app.web.deps import live_of, person_of, stations_of
from app.web.language import language_of
from app.web.pages.frame import show
from app.web.pages.pair import set_cookie


async def start(request: Request) -> HTMLResponse:
    """What this is, and where to go."""
    stations = sorted(stations_of(request).values(), key=lambda station: KINDS.index(station.kind))
    empty = not await asyncio.to_thread(sign_in.has_administrator, live_of(request).engine)
    return show(request, "start.html", stations=stations, empty=empty)


async def open_demo(request: Request, kind: str) -> RedirectResponse:
    """Pairs this browser as a station of a kind and opens its page, a desk with its charge anaesthetist signed in.

    In the demo only: everything in it is invented.
    """
    if kind not in KINDS:
        raise Unknown("There is no such kind of screen.", do="Go back to the start page.")
    target = f"/{kind}"
    if kind == "inside" and (left := request.app.state.demo.left_to_the_user):
        target = f"/inside?case={left}"
    response = RedirectResponse(target, status_code=303)
    live = live_of(request)
    station = next((one.id for one in stations_of(request).values() if one.kind == kind), None)
    if station is None:
        cookie = await asyncio.to_thread(
            store.pair, live.engine, kind=kind, label=f"Demo {kind}", now=utc_now(), language=language_of(request)
        )
        station = cookie.partition(".")[0]
        set_cookie(response, request, kind, cookie)
    if kind == "desk" and person_of(request) is None and (charge := request.app.state.demo.charge) is not None:
        secret = await asyncio.to_thread(sign_in.begin, live.engine, charge, station, utc_now())
        sessions.set_cookie(response, secret, request.url.scheme == "https")
    return response


async def restart_demo(request: Request) -> RedirectResponse:
    """Ends the demo's cases and begins them anew."""
    await request.app.state.demo.restart()
    return RedirectResponse("/", status_code=303)
