"""Each station's pages speak its language; other pages speak the browser's."""

from __future__ import annotations

import httpx
import pytest

from app.base.time import utc_now
from app.stations import store
from tests.app.web.house import House

pytestmark = pytest.mark.anyio


def german(house: House, kind: str) -> dict[str, str]:
    cookie = store.pair(house.live.engine, kind=kind, label="Tablet", now=utc_now(), language="de")
    return {"cookie": f"doorside_{kind}={cookie}"}


async def page(house: House, path: str, **headers: str) -> str:
    answer: httpx.Response = await house.client.get(path, headers={"accept": "text/html", **headers})
    return answer.text


async def test_a_station_speaks_its_language_on_pages_and_in_pushed_panels(house: House) -> None:
    shown = await page(house, "/outside", **german(house, "outside"))
    assert '<html lang="de">' in shown
    assert "Kein Fall ist offen." in shown


async def test_a_page_without_a_station_speaks_as_the_browser_asks(house: House) -> None:
    assert '<html lang="de">' in await page(house, "/", **{"accept-language": "de-AT, de;q=0.9, en;q=0.8"})
    assert '<html lang="en">' in await page(house, "/", **{"accept-language": "fr, en;q=0.5"})
    assert '<html lang="en">' in await page(house, "/")


async def test_a_refusal_speaks_the_language_of_the_station_it_refuses(house: House) -> None:
    shown = await page(house, "/nowhere", **german(house, "board"))
    assert '<html lang="de">' in shown
    assert "Eine solche Seite gibt es nicht." in shown
