"""The live pages: inside, outside, board and a case's record. All four are a topic's panels in a frame."""

from __future__ import annotations

import asyncio
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.base.errors import NotPermitted
from app.base.kinds import ROLES
from app.live.hub import ALL
from app.people import store as people
from app.stations.values import Station
from app.web.deps import live_of, station_of
from app.web.pages.frame import show


async def _page(request: Request, page: str, station: Station, cases: tuple[str, ...], **more: Any) -> HTMLResponse:
    topic = await live_of(request).topic(page, cases, station.language)
    return show(request, f"{page}.html", page=page, live=topic, panels=topic.panels, station=station, **more)


def _shown(station: Station) -> tuple[str, ...]:
    """What a station of several cases shows: all, or those it is paired to now, which may be none."""
    return (ALL,) if station.all_cases else station.cases


async def inside(request: Request, case: str | None = None) -> HTMLResponse:
    """The room's screen. A station that serves several cases is asked which room it is in, one of none waits."""
    station = station_of(request, "inside")
    if case is None:
        paired = station.cases
        if len(paired) != 1:
            return await _page(request, "choose", station, _shown(station))
        case = paired[0]
    elif not station.serves(case):
        raise NotPermitted("This screen is not paired to that case.", do="Pair it to the case at the desk.")
    return await _page(request, "inside", station, (case,))


async def outside(request: Request, coach: str = "") -> HTMLResponse:
    """The door's screen, for every case that the station serves. coach: a person whose steps are read aloud from it."""
    station = station_of(request, "outside")
    everyone = await asyncio.to_thread(people.people, live_of(request).engine)
    return await _page(request, "outside", station, _shown(station), people=everyone, coach=coach)


async def board(request: Request) -> HTMLResponse:
    """The shift board."""
    station = station_of(request, "board")
    return await _page(request, "board", station, _shown(station))


async def wall(request: Request, case: str) -> HTMLResponse:
    """One case from across the room, read only: a second screen that a board's browser opens."""
    station = station_of(request, "board")
    if not station.serves(case):
        raise NotPermitted("This screen is not paired to that case.", do="Pair it to the case at the desk.")
    return await _page(request, "wall", station, (case,))


async def case(request: Request, case: str) -> HTMLResponse:
    """A case's record at the desk."""
    station = station_of(request, "desk")
    if not station.serves(case):
        raise NotPermitted("This screen is not paired to that case.", do="Pair it to the case at the desk.")
    live = live_of(request)
    topic = await live.topic("case", (case,), station.language)
    return show(
        request,
        "case.html",
        page="case",
        live=topic,
        panels=topic.panels,
        station=station,
        people=await asyncio.to_thread(people.people, live.engine),
        crew_roles=tuple(ROLES.items()),
    )
