"""Who may call what: every row of the route table, allowed and refused."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from functools import cache
from pathlib import Path
from typing import Any

import httpx
import pytest
from sqlalchemy import text
from starlette.routing import Mount

from app.base.ids import new_id
from app.base.settings import load
from app.base.time import utc_now
from app.live.live import Live
from app.live.panels import PAGES
from app.main import create_app
from app.people import store as people
from app.people.sign_in import store as sign_in
from app.people.sign_in.pins import hashed
from app.people.sign_in.values import LEVELS, Rights, Use
from app.people.tables import Person
from app.stations import codes
from app.stations.values import KINDS, Plan
from app.web.api.stream import STATION_OF
from app.web.permissions import Permission
from app.web.routes import ROUTES, STREAM, Row
from tests.app.web.house import PATIENCE_S, House

pytestmark = pytest.mark.anyio
STATIONS = ((), *((kind,) for kind in KINDS))
PIN = "274931"
CALLERS: dict[str, tuple[tuple[str, ...], Rights | None]] = {
    "nobody": ((), None),
    **{f"{kind}": ((kind,), None) for kind in KINDS},
    **{f"desk, {level}": (("desk",), Rights(level)) for level in LEVELS},
    "desk, editor": (("desk",), Rights(editor=True)),
    "desk, admin": (("desk",), Rights(admin=True)),
    "desk, without a right": (("desk",), Rights()),
}


class Drill:
    """What the demo's routes ask of a demo."""

    left_to_the_user = None
    charge = None

    def __init__(self, live: Live) -> None:
        self.restarts = 0

    async def start(self) -> None:
        pass

    async def stop(self) -> None:
        pass

    async def restart(self) -> None:
        self.restarts += 1


@pytest.fixture
async def drill(anyio_backend: str, sqlite_url: str, tmp_path: Path) -> AsyncIterator[House]:
    """A server with a demo."""
    app = create_app(load(db=sqlite_url, data=str(tmp_path)), Drill)
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://door") as client,
    ):
        made = House(app, client)
        for kind in KINDS:
            made.pair(kind)
        yield made


SENT: dict[str, dict[str, Any]] = {
    "POST /api/entries": {"json": []},
    "POST /api/cases": {"json": {"ref": "C9"}},
    "POST /desk/cases": {"data": {"ref": "C9"}},
    "POST /sign-in": {"data": {"person": "U-Bo", "pin": PIN}},
    "POST /sign-in/pin": {"data": {"person": "U-Bo", "pin": PIN, "new": "350917", "again": "350917"}},
    "POST /desk/people-rights/{person}": {"data": {"level": "view"}},
    "POST /desk/stations/codes": {"data": {"kind": "board", "label": "Wall"}},
    "POST /desk/stations/held": {"data": {"do": "refused"}},
}
"""What a call of a route sends so that it is answered; a route that needs nothing has no line."""


async def call(house: House, row: Row, case: str, *kinds: str) -> httpx.Response:
    path = row.path.format_map(Filled(case=case, kind="board", person="U-Bo"))
    sent = SENT.get(f"{row.method} {row.path}", {})
    if row.path == "/pair" and row.method == "POST":
        sent = {"data": {"code": code_for(house)}}
        house.app.state.pairing = type(house.app.state.pairing)()  # as if the last code had been typed a minute ago
    if row.path == "/api/station":
        sent = {"json": {"station": house.station(kinds[0]) if kinds else ""}}
    return await house.client.request(row.method, path, headers=house.as_(*kinds), **sent)


def code_for(house: House) -> str:
    """A code that pairs a board."""
    return codes.make(house.live.engine, Plan("board", "Wall"), house.app.state.code_key, utc_now())


class Filled(dict[str, str]):
    """Fills the places of a path; one that no test knows gets an id that was never made."""

    def __missing__(self, name: str) -> str:
        return new_id()


@cache
def pin_hash() -> str:
    return hashed(PIN)


def add_bo(house: House) -> None:
    """Somebody who may view, with a PIN, so that others can be signed in and out and given rights."""
    engine, now = house.live.engine, house.app.state.sessions.now()
    people.add(engine, Person(id="U-Bo", name="Bo Hale", initials="BH", job="nurse"))
    sign_in.set_rights(engine, "U-Bo", Rights(Use.VIEW), now=now, how="test")
    sign_in.set_pin(engine, "U-Bo", pin_hash(), first=False, now=now, how="test")


async def stream(house: House, query: str, *kinds: str) -> httpx.Response:
    """Asks for a stream that must be refused: one that is not would stay open, and fails here."""
    async with asyncio.timeout(PATIENCE_S):
        return await house.client.get(f"{STREAM}?{query}", headers=house.as_(*kinds))


def refusal_of(row: Row, kinds: tuple[str, ...], rights: Rights | None) -> int | None:
    """The status with which the table says that a caller is refused; None when they are let in."""
    match row.permission:
        case Permission.ANYONE:
            return None
        case Permission.DEMO:
            return 403
        case Permission.SETUP:
            return 404  # somebody administers, so there is nothing to set up
        case Permission.STATION:
            return None if kinds else 403
        case Permission.KNOWN:
            return None if kinds else 401
        case permission if permission.kind not in kinds:
            return 403
        case permission if permission.use is None:
            return None
        case permission if rights is None:
            return 401
        case permission:
            return None if permission.use in rights.uses else 403


@pytest.mark.parametrize("row", ROUTES, ids=lambda row: f"{row.method} {row.path}")
async def test_a_route_lets_in_whom_its_row_names_and_nobody_else(house: House, case: str, row: Row) -> None:
    wrong = {}
    for caller, (kinds, rights) in CALLERS.items():
        add_bo(house)
        house.session = ""
        if rights is not None:
            house.sign_in(rights, "Cy Ott")
        answer = await call(house, row, case, *kinds)
        house.client.cookies.clear()
        refused = refusal_of(row, kinds, rights)
        if refused is not None:
            told = answer.json() if answer.status_code == refused else {}
            right = {"error", "holds", "do"} <= told.keys()
            right &= (told.get("reason") == "sign-in") == (refused == 401 and bool(kinds))
        elif f"{row.method} {row.path}" in SENT or (row.method == "GET" and "{" not in row.path):
            right = answer.status_code < 400
        else:  # it was sent nothing, or what it names was never made; but the caller was let in
            right = answer.status_code < 500 and answer.status_code not in (401, 403)
        if not right:
            wrong[caller] = (answer.status_code, refused, answer.text[:300])
    assert wrong == {}


@pytest.mark.parametrize("row", [row for row in ROUTES if row.permission is Permission.DEMO], ids=lambda row: row.path)
async def test_the_demo_lets_anyone_in(drill: House, row: Row) -> None:
    answer = await call(drill, row, new_id())
    assert answer.status_code == 303


async def test_every_address_of_the_server_stands_in_the_table(house: House) -> None:
    listed = {row.path for row in ROUTES} | {STREAM}
    assert {route.path for route in house.app.routes if not isinstance(route, Mount)} == listed  # type: ignore[attr-defined]
    assert [route.path for route in house.app.routes if isinstance(route, Mount)] == ["/static"]


@pytest.mark.parametrize("row", [row for row in ROUTES if row.permission.kind], ids=lambda row: row.path)
async def test_a_cookie_of_one_kind_does_not_pass_for_another(house: House, case: str, row: Row) -> None:
    kind = row.permission.kind
    other = next(one for one in KINDS if one != kind)
    house.cookies[str(kind)] = house.cookies[other]
    assert (await call(house, row, case, str(kind))).status_code in (401, 403)


@pytest.mark.parametrize("cookie", ["", ".", "x", "a.b", "é.é", "x" * 5000])
async def test_a_cookie_that_proves_nothing_lets_nobody_in(house: House, cookie: str) -> None:
    answer = await house.client.get("/board", headers={"cookie": f"doorside_board={cookie}".encode()})
    assert answer.status_code == 403


async def test_a_revoked_station_is_let_in_no_more(house: House) -> None:
    with house.live.engine.begin() as connection:
        connection.execute(text("UPDATE station SET revoked_at = created_at WHERE kind = 'board'"))
    assert (await house.client.get("/board", headers=house.as_("board"))).status_code == 403


@pytest.mark.parametrize("kind", KINDS)
async def test_a_station_paired_to_one_case_sees_no_other(house: House, case: str, kind: str) -> None:
    own = await house.case("C2")
    house.pair(kind, own)
    await house.post([house.tap(case, "case.open", {"ref": "SECRET"}), house.tap(own, "case.open", {"ref": "OWN"})])
    paths = {"inside": "/inside?case={}", "board": "/wall/{}", "desk": "/case/{}"}
    if path := paths.get(kind):
        assert (await house.client.get(path.format(case), headers=house.as_(kind))).status_code == 403
        assert (await house.client.get(path.format(own), headers=house.as_(kind))).status_code == 200
    if kind in ("outside", "board"):
        answer = await house.client.get(f"/{kind}", headers=house.as_(kind))
        assert "SECRET" not in answer.text
    for page in [page for page, needed in STATION_OF.items() if needed == kind]:
        for cases in (f"case={case}", "case=*", "", f"case={own}&case={case}"):
            answer = await stream(house, f"page={page}&{cases}", kind)
            assert answer.status_code == 403, (page, cases)


@pytest.mark.parametrize("kind", ["outside", "board"])
async def test_a_station_whose_pairing_has_ended_sees_nothing_but_may_still_send(
    house: House, case: str, kind: str
) -> None:
    await house.post([house.tap(case, "case.open", {"ref": "SECRET"})])
    station = house.pair(kind, case)
    before = house.tap(case, station=station)
    with house.live.engine.begin() as connection:
        ended = {"now": utc_now().replace(tzinfo=None)}
        connection.execute(text("UPDATE station_case SET ended_at = :now"), ended)
    answer = await house.client.get(f"/{kind}", headers=house.as_(kind))
    assert answer.status_code == 200
    assert "SECRET" not in answer.text
    line = await stream(house, f"page={kind}&case={case}", kind)
    assert line.status_code == 403
    late = await house.post([before], kind)
    assert late.json()["results"][0]["status"] == "stored"


def test_every_live_page_has_a_kind_of_station_that_may_stream_it() -> None:
    assert STATION_OF.keys() == PAGES.keys()
    assert set(STATION_OF.values()) <= set(KINDS)


@pytest.mark.parametrize("page", sorted(PAGES))
async def test_a_stream_is_refused_to_every_other_kind_of_station(house: House, case: str, page: str) -> None:
    for kinds in STATIONS:
        if STATION_OF[page] not in kinds:
            answer = await stream(house, f"page={page}&case={case}", *kinds)
            assert answer.status_code == 403, kinds


async def test_a_stream_of_no_page_or_no_case_is_refused(house: House) -> None:
    for query, status in (("page=desk", 422), ("", 422), (f"page=inside&case={new_id()}", 404)):
        answer = await stream(house, query, "inside")
        assert answer.status_code == status, query
        assert answer.json()["error"]
