"""GET /api/live: the open line by which changed panels reach a page, as server-sent events.

    page   inside, outside, board, wall or case;  case  those shown, none for all;  seen  the page's mark

A browser that reconnects by itself sends the mark as `Last-Event-ID`. No database session is held while a line is open.
"""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.types import Receive, Scope, Send

from app.base.errors import DoorsideError, NotPermitted, NotValid, Unknown
from app.live.hub import ALL, LIFE_S
from app.live.panels import PAGES
from app.web.deps import live_of, station_of
from app.web.errors import answer

STATION_OF = {"inside": "inside", "outside": "outside", "board": "board", "wall": "board", "case": "desk"}
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
            raise NotValid("That is no live page.", do="Live pages are inside, outside, board, wall and case.")
        station = station_of(request, STATION_OF[page])
        cases = tuple(query.getlist("case")) or (ALL,)
        if any(case != ALL and not station.serves(case) for case in cases) or (ALL in cases and not station.all_cases):
            raise NotPermitted("This screen is not paired to that case.", do="Pair it to the case at the desk.")
        if live.hub.stopping:
            raise Unknown("The server is stopping.")
        topic = await live.topic(page, cases, station.language)
        await send(_START)
        await send({"type": "http.response.body", "body": b"retry: 500\n\n", "more_body": True})
        seen = request.headers.get("last-event-id") or query.get("seen", "")
        reader = live.hub.join(topic, send, seen)
        gone = asyncio.create_task(_disconnected(receive))
        gone.add_done_callback(lambda _: reader.end())
        try:
            await asyncio.wait({reader.ended}, timeout=LIFE_S)
        finally:
            live.hub.leave(reader)
            gone.cancel()
            await reader.close()
        await send({"type": "http.response.body", "body": b"", "more_body": False})


async def _disconnected(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
