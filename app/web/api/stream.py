"""GET /api/live: the open line by which changed panels reach a page, as server-sent events.

    page   choose, inside, outside, board, wall or case;  case  those shown, left out for all;  seen  the page's mark

`event: beat` comes when nothing else does. An inside page says what waits on it (`waiting`: taps) and how far its clock
is off (`skew_ms`: its clock less the server's): the server notes it when the room was out of contact.

`event: pairing` says that the station was revoked, moved or given a case: the page asks where to go.

A browser that reconnects by itself sends the mark as `Last-Event-ID`. No database session is held while a line is open.
"""

from __future__ import annotations

import asyncio
from contextlib import suppress

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.types import Receive, Scope, Send

from app.base.errors import DoorsideError, NotPermitted, NotValid, Unknown
from app.live.hub import ALL, LIFE_S
from app.live.panels import PAGES
from app.web.deps import live_of, station_of
from app.web.errors import answer
from app.web.lines import lines_of

STATION_OF = {
    "choose": "inside", "inside": "inside", "outside": "outside", "board": "board", "wall": "board", "case": "desk",
}  # fmt: skip
SKEW_MOST_S = 1e10
FAREWELL_S = 0.5
"""How long a line is given to take its end."""
_START = {
    "type": "http.response.start",
    "status": 200,
    "headers": [
        (b"content-type", b"text/event-stream; charset=utf-8"),
        (b"cache-control", b"no-store"),
        (b"x-accel-buffering", b"no"),
    ],
}


class Stream:
    """An ASGI application of its own: the hub calls `send` directly."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, receive)
        try:
            await self._serve(request, receive, send)
        except DoorsideError as error:
            await answer(request, error)(scope, receive, send)

    async def _serve(self, request: Request, receive: Receive, send: Send) -> None:
        live, query = live_of(request), request.query_params
        page = query.get("page", "")
        if page not in PAGES:
            raise NotValid("That is no live page.", do="Live pages are choose, inside, outside, board, wall and case.")
        station = station_of(request, STATION_OF[page])
        cases = tuple(case for case in query.getlist("case") if case) or (() if "case" in query else (ALL,))
        if any(case != ALL and not station.serves(case) for case in cases) or (ALL in cases and not station.all_cases):
            raise NotPermitted("This screen is not paired to that case.", do="Pair it to the case at the desk.")
        if live.hub.stopping:
            raise Unknown("The server is stopping.")
        topic = await live.topic(page, cases, station.language)
        await send(_START)
        await send({"type": "http.response.body", "body": b"retry: 500\n\n", "more_body": True})
        seen = request.headers.get("last-event-id") or query.get("seen", "")
        reader = live.hub.join(topic, send, seen)
        lines_of(request).join(station.id, reader)
        if page == "inside":
            live.contact.joined(cases[0], station.label, *_told(query))
        gone = asyncio.create_task(_disconnected(receive))
        gone.add_done_callback(lambda _: reader.end())
        try:
            await asyncio.wait({reader.ended}, timeout=LIFE_S)
        finally:
            if page == "inside" and not live.hub.stopping:
                live.contact.left(cases[0], station.label)
            live.hub.leave(reader)
            lines_of(request).leave(station.id, reader)
            gone.cancel()
            await reader.close()
        with suppress(TimeoutError):  # a reader that stands still holds up no server that wants to stop
            async with asyncio.timeout(FAREWELL_S):
                await send({"type": "http.response.body", "body": b"", "more_body": False})


def _told(query: QueryParams) -> tuple[int | None, float | None]:
    """How many taps wait on the screen, and how far its clock is off [s]; None for what it does not say."""
    waiting, skew = query.get("waiting", ""), query.get("skew_ms", "")
    queued = int(waiting) if waiting.isascii() and waiting.isdecimal() and len(waiting) < 7 else None
    try:
        skew_s = round(float(skew) / 1000, 1)
    except (ValueError, OverflowError):
        return queued, None
    return queued, skew_s if abs(skew_s) < SKEW_MOST_S else None


async def _disconnected(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
