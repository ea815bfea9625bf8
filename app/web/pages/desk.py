"""The desk: the short form that opens a case, and the list of cases."""

from __future__ import annotations

import asyncio

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.base.kinds import ROLES
from app.journal import store as journal
from app.live.live import Live
from app.people import store as people
from app.protocol.library import protocols
from app.rooms import store as rooms
from app.web.deps import live_of, station_of
from app.web.pages.frame import show

LISTED = 50
CREW = ("TL", "AO", "AA", "DM", "DOC", "DR", "SO", "PO")


async def desk(request: Request) -> HTMLResponse:
    """The desk's page."""
    station, live = station_of(request, "desk"), live_of(request)
    heads, staff, all_rooms = await asyncio.gather(
        asyncio.to_thread(_heads, live, ""),
        asyncio.to_thread(people.people, live.engine),
        asyncio.to_thread(rooms.rooms, live.engine),
    )
    return show(
        request,
        "desk.html",
        page="desk",
        station=station,
        heads=heads,
        people=staff,
        rooms=all_rooms,
        procedures=tuple(dict.fromkeys(protocol.procedure for protocol in protocols())),
        crew_roles=tuple((code, ROLES[code]) for code in CREW),
        next_ref=f"C{1 + await asyncio.to_thread(journal.case_count, live.engine)}",
    )


async def case_list(request: Request, q: str = "") -> HTMLResponse:
    """The list of cases whose reference holds a text, for the desk's search."""
    live = live_of(request)
    return show(request, "parts/_case_list.html", heads=await asyncio.to_thread(_heads, live, q[:40]))


def _heads(live: Live, q: str) -> list[dict[str, object]]:
    names = live.registers.rooms
    return [
        {
            "case_id": head.case,
            "ref": head.ref,
            "room": names.get(head.room_id or "", {}).get("name", ""),
            "created_at": head.created_at,
            "ended": head.ended,
        }
        for head in journal.find_heads(live.engine, q, LISTED)
    ]
