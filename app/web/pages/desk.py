"""The desk: the short form that opens a case, and the list of cases."""

from __future__ import annotations

import asyncio

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.journal import store as journal
from app.live.hub import ALL
from app.live.live import Live
from app.people import store as people
from app.protocol.library import protocols
from app.rooms import store as rooms
from app.stations import held as held_store
from app.web.deps import live_of, station_of
from app.web.pages.frame import show

LISTED = 50
USUAL = ("intubation", "extubation", "tracheostomy", "bronchoscopy", "transport")


async def desk(request: Request) -> HTMLResponse:
    """The desk's page."""
    station, live = station_of(request, "desk"), live_of(request)
    heads, all_rooms, organisms, held = await asyncio.gather(
        asyncio.to_thread(_heads, live, ""),
        asyncio.to_thread(rooms.rooms, live.engine),
        asyncio.to_thread(people.organisms, live.engine),
        asyncio.to_thread(held_store.count, live.engine),
    )
    return show(
        request,
        "desk.html",
        page="desk",
        station=station,
        heads=heads,
        held=held,
        rooms=all_rooms,
        busy={case.state.room.id for case in live.seen((ALL,))},
        organisms=organisms,
        procedures=_procedures(),
        next_ref=f"C{1 + await asyncio.to_thread(journal.case_count, live.engine)}",
    )


def _procedures() -> tuple[str, ...]:
    """What the library's protocols are for, what a call is most often about first."""
    found = dict.fromkeys(protocol.procedure for protocol in protocols())
    return tuple(sorted(found, key=lambda one: USUAL.index(one) if one in USUAL else len(USUAL)))


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
