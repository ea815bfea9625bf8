"""Every address of the server, with who may call it. One row a route; `tests/app/web/test_permissions.py` walks them.

Only POST /api/entries writes entries.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from fastapi import Depends, Request
from starlette.routing import Route

from app.base.errors import NotSignedIn, Revoked
from app.web.api import cases, clock, entries, stream
from app.web.api import stations as station_api
from app.web.deps import hold
from app.web.pages import (
    crew,
    desk,
    live,
    new_case,
    offline,
    pair,
    protocols,
    registers,
    registers_files,
    registers_ready,
    rights,
    setup,
    sign_in,
    start,
    stations,
    style,
    trust,
    worksheet,
)
from app.web.permissions import Permission as P
from app.web.road import Doorside, Held


class Row(NamedTuple):
    """One route."""

    method: str
    path: str
    handler: Callable[..., Any]
    permission: P


ROUTES = (
    # pages
    Row("GET", "/", start.start, P.ANYONE),
    Row("GET", "/sw.js", offline.worker, P.ANYONE),
    Row("GET", "/inside", live.inside, P.INSIDE),
    Row("GET", "/outside", live.outside, P.OUTSIDE),
    Row("GET", "/board", live.board, P.BOARD),
    Row("GET", "/wall/{case}", live.wall, P.BOARD),
    Row("GET", "/desk", desk.desk, P.DESK),
    Row("GET", "/worksheet", worksheet.worksheet, P.DESK),
    Row("POST", "/worksheet/figures", worksheet.figures, P.DESK),
    Row("GET", "/style", style.style, P.DESK),
    Row("GET", "/desk/cases", desk.case_list, P.DESK),
    Row("POST", "/desk/cases", new_case.open_case, P.DOCUMENT),
    Row("GET", "/case/{case}", live.case, P.DESK),
    Row("POST", "/desk/crew", crew.crew, P.DOCUMENT),
    # signing in, and who may do what
    Row("GET", "/setup", setup.page, P.SETUP),
    Row("POST", "/setup", setup.make, P.SETUP),
    Row("GET", "/sign-in", sign_in.show_page, P.DESK),
    Row("POST", "/sign-in", sign_in.sign_in, P.DESK),
    Row("GET", "/sign-in/pin", sign_in.show_pin_page, P.DESK),
    Row("POST", "/sign-in/pin", sign_in.change_pin, P.DESK),
    Row("POST", "/sign-out", sign_in.sign_out, P.DESK),
    Row("GET", "/desk/people-rights", rights.page, P.ADMIN),
    Row("POST", "/desk/people-rights/{person}", rights.change, P.ADMIN),
    Row("POST", "/desk/people-rights/{person}/pin", rights.new_pin, P.ADMIN),
    Row("POST", "/api/here", sign_in.still_here, P.VIEW),
    # registers: whoever is signed in may look, health facts aside; editors change
    Row("GET", "/desk/registers", registers.index, P.VIEW),
    Row("GET", "/desk/registers/ready/rooms", registers_ready.rooms_today, P.VIEW),
    Row("GET", "/desk/registers/ready/kits", registers_ready.kits_today, P.VIEW),
    Row("GET", "/desk/registers/ready/stock", registers_ready.stock_left, P.VIEW),
    Row("GET", "/desk/registers/ready/new-model", registers_ready.new_model, P.VIEW),
    Row("GET", "/desk/registers/protocols", protocols.page, P.VIEW),
    Row("GET", "/desk/registers/protocols/{version}/file", protocols.file, P.VIEW),
    Row("POST", "/desk/registers/protocols/import", protocols.take_in, P.EDITOR),
    Row("POST", "/desk/registers/protocols/{version}/approve", protocols.approve, P.EDITOR),
    Row("POST", "/desk/registers/protocols/{version}/withdraw", protocols.withdraw, P.EDITOR),
    Row("GET", "/desk/registers/{register}", registers.rows, P.VIEW),
    Row("GET", "/desk/registers/{register}/row/{row}", registers.row, P.VIEW),
    Row("GET", "/desk/registers/{register}/new", registers.new, P.EDITOR),
    Row("POST", "/desk/registers/{register}/new", registers.make, P.EDITOR),
    Row("POST", "/desk/registers/{register}/row/{row}", registers.change, P.EDITOR),
    Row("POST", "/desk/registers/{register}/remove/{row}", registers.remove, P.EDITOR),
    Row("POST", "/desk/registers/{register}/undo/{change}", registers.undo, P.EDITOR),
    Row("POST", "/desk/registers/{register}/starters", registers_files.starters, P.EDITOR),
    Row("GET", "/desk/registers/{register}/export.csv", registers_files.export, P.EDITOR),
    Row("GET", "/desk/registers/{register}/import", registers_files.page, P.EDITOR),
    Row("POST", "/desk/registers/{register}/import", registers_files.attempt, P.EDITOR),
    Row("POST", "/desk/registers/{register}/files/{file}/confirm", registers_files.confirm, P.EDITOR),
    Row("POST", "/desk/registers/{register}/files/{file}/undo", registers_files.undo, P.EDITOR),
    # stations: pairing them, how they are, and what waits of them
    Row("GET", "/pair", pair.pair, P.ANYONE),
    Row("POST", "/pair", pair.use_code, P.ANYONE),
    Row("GET", "/diagnostics", pair.diagnostics, P.STATION),
    Row("GET", "/trust", trust.trust, P.ANYONE),
    Row("GET", "/trust/authority", trust.authority, P.ANYONE),
    Row("GET", "/desk/stations", stations.stations, P.DESK),
    Row("GET", "/desk/stations/list", stations.station_list, P.DESK),
    Row("POST", "/desk/stations/codes", stations.new_code, P.LEAD),
    Row("POST", "/desk/stations/{station}/revoke", stations.revoke, P.LEAD),
    Row("GET", "/desk/stations/held", stations.held_list, P.DESK),
    Row("POST", "/desk/stations/held", stations.decide, P.LEAD),
    # scripts
    Row("POST", "/api/entries", entries.post, P.KNOWN),
    Row("POST", "/api/station", station_api.report, P.STATION),
    Row("POST", "/api/cases", cases.post, P.DOCUMENT),
    Row("GET", "/api/time", clock.get, P.ANYONE),
    # demo
    Row("GET", "/demo/open/{kind}", start.open_demo, P.DEMO),
    Row("POST", "/demo/restart", start.restart_demo, P.DEMO),
)
STREAM = "/api/live"
"""The one route beside them: an open line that checks for itself (any station, its own cases)."""


def install(app: Doorside) -> None:
    """Adds every route, its permission held before its handler runs."""
    app.add_exception_handler(NotSignedIn, sign_in.in_place)
    app.add_exception_handler(Revoked, pair.in_place)
    for row in ROUTES:
        if row.handler is entries.post:  # reads its body itself; FastAPI's way around a handler costs more than a tap
            road = Held(row.handler, row.permission)
            app.router.routes.append(Route(row.path, road, methods=[row.method]))
            app.shorten(row.method, row.path, road)
            continue
        app.add_api_route(
            row.path,
            row.handler,
            methods=[row.method],
            response_model=None,
            dependencies=[Depends(_holds(row.permission))],
        )
    app.router.routes.append(Route(STREAM, endpoint=stream.Stream(), methods=["GET"]))


def _holds(permission: P) -> Callable[[Request], None]:
    async def held(request: Request) -> None:
        hold(request, permission)

    return held  # type: ignore[return-value]
