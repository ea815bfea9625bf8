"""The short road for taps answers as the long one does: the same words, the same headers, the same record."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from app.web import road, routes
from app.web.api import entries
from tests.app.web.house import House

pytestmark = pytest.mark.anyio
CHANGES = ("date",)


async def both(house: House, content: Any, headers: dict[str, str]) -> tuple[httpx.Response, httpx.Response]:
    """The same request by the short road, then through every layer."""
    app: Any = house.app

    async def long_way(scope: Any, receive: Any, send: Any) -> None:
        await FastAPI.__call__(app, scope, receive, send)

    answers = []
    for way in (app, long_way):
        transport = httpx.ASGITransport(way, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://door") as client:
            answers.append(await client.post("/api/entries", headers=headers, **content))
    short, long = answers
    return short, long


def told(answer: httpx.Response) -> tuple[int, Any, dict[str, str]]:
    return answer.status_code, answer.json(), {k: v for k, v in answer.headers.items() if k not in CHANGES}


@pytest.mark.parametrize(
    ("why", "content", "headers", "status"),
    [
        ("no station", {"json": []}, {"cookie": ""}, 401),
        ("another site", {"json": []}, {"sec-fetch-site": "cross-site"}, 403),
        ("no JSON", {"content": b"[{"}, {}, 400),
        ("no list", {"json": 7}, {}, 400),
        ("half a character", {"content": b'["\\ud800"]'}, {}, 422),
        ("no number", {"content": b"[NaN]"}, {}, 400),
        ("another coding", {"content": "[]".encode("utf-16")}, {}, 200),
        ("too much", {"content": b" " * 1_000_001}, {}, 413),
        ("no tap", {"json": [{"id": "x"}]}, {}, 422),
        ("nothing", {"json": []}, {}, 200),
    ],
)
async def test_both_roads_say_the_same(
    house: House, why: str, content: dict[str, Any], headers: dict[str, str], status: int
) -> None:
    short, long = await both(house, content, {"content-type": "application/json", **house.as_("inside"), **headers})
    assert told(short) == told(long), why
    assert short.status_code == status, short.text


async def test_a_tap_by_either_road_is_the_same_entry(house: House, case: str) -> None:
    tap = house.tap(case)
    short, long = await both(house, {"json": [tap]}, house.as_("inside"))
    (first,), (again,) = short.json()["results"], long.json()["results"]
    assert (first["status"], again["status"]) == ("stored", "already")
    assert first | {"status": "already"} == again


async def test_what_nobody_thought_of_is_answered_in_words_by_both(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fails(*_: Any) -> Any:
        raise RuntimeError("with a patient's name in it")

    monkeypatch.setattr(house.live, "store", fails)
    case = await house.case()
    short, long = await both(house, {"json": [house.tap(case)]}, house.as_("inside"))
    assert told(short) == told(long)
    assert short.status_code == 500
    assert "patient" not in short.text


async def test_only_the_route_of_the_taps_is_shortened(house: House) -> None:
    assert isinstance(house.app, road.Doorside)
    (row,) = (row for row in routes.ROUTES if row.handler is entries.post)
    assert house.app.short == (row.method, row.path)
