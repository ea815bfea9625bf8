"""Every address of the server, with who may call it. One row a route; `tests/app/web/test_permissions.py` walks them.

Only POST /api/entries writes entries.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from fastapi import Depends, FastAPI, Request
from starlette.routing import Route

from app.web.api import cases, clock, entries, stream
from app.web.deps import hold
from app.web.pages import desk, live, start, style, worksheet
from app.web.permissions import Permission as P


class Row(NamedTuple):
    """One route."""

    method: str
    path: str
    handler: Callable[..., Any]
    permission: P


ROUTES = (
    # pages
    Row("GET", "/", start.start, P.ANYONE),
    Row("GET", "/inside", live.inside, P.INSIDE),
    Row("GET", "/outside", live.outside, P.OUTSIDE),
    Row("GET", "/board", live.board, P.BOARD),
    Row("GET", "/wall/{case}", live.wall, P.BOARD),
    Row("GET", "/desk", desk.desk, P.DESK),
    Row("GET", "/worksheet", worksheet.worksheet, P.DESK),
    Row("POST", "/worksheet/figures", worksheet.figures, P.DESK),
    Row("GET", "/style", style.style, P.DESK),
    Row("GET", "/desk/cases", desk.case_list, P.DESK),
    Row("GET", "/case/{case}", live.case, P.DESK),
    # scripts
    Row("POST", "/api/entries", entries.post, P.STATION),
    Row("POST", "/api/cases", cases.post, P.DESK),
    Row("GET", "/api/time", clock.get, P.ANYONE),
    # demo
    Row("GET", "/demo/open/{kind}", start.open_demo, P.DEMO),
    Row("POST", "/demo/restart", start.restart_demo, P.DEMO),
)
STREAM = "/api/live"
"""The one route beside them: an open line that checks for itself (any station, its own cases)."""


def install(app: FastAPI) -> None:
    """Adds every route, its permission held before its handler runs."""
    for row in ROUTES:
        if row.handler is entries.post:  # reads its body itself; FastAPI's way around a handler costs more than a tap
            app.router.routes.append(Route(row.path, _plain(row.handler, row.permission), methods=[row.method]))
            continue
        app.add_api_route(
            row.path,
            row.handler,
            methods=[row.method],
            response_model=None,
            dependencies=[Depends(_holds(row.permission))],
        )
    app.router.routes.append(Route(STREAM, endpoint=stream.Stream(), methods=["GET"]))


def _plain(handler: Callable[..., Any], permission: P) -> Callable[[Request], Any]:
    async def held(request: Request) -> Any:
        hold(request, permission)
        return await handler(request)

    return held


def _holds(permission: P) -> Callable[[Request], None]:
    async def held(request: Request) -> None:
        hold(request, permission)

    return held  # type: ignore[return-value]
