"""What every answer carries, and what no request may do."""

from __future__ import annotations

from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any

import httpx
import pytest

from app.base.log import log
from app.web.security import same_origin
from tests.app.web.house import House
from tests.app.web.test_permissions import drill  # noqa: F401  (a fixture)

pytestmark = pytest.mark.anyio
ADDRESSES = ("/", "/board", "/nowhere", "/case/none", "/desk", "/api/time", "/api/entries", "/api/live", "/static/js/page.js",
             "/static/none.js", "/static/../pyproject.toml", "/demo/open/board", "/inside?case=none")  # fmt: skip


def assert_guarded(answer: httpx.Response) -> None:
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert "style-src 'self';" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["cross-origin-opener-policy"] == "same-origin"


@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "PUT", "OPTIONS"])
@pytest.mark.parametrize("address", ADDRESSES)
async def test_every_answer_carries_the_policy_also_one_that_refuses(house: House, address: str, method: str) -> None:
    for kinds in ((), ("board", "desk", "inside")):
        answer = await house.client.request(method, address, headers=house.as_(*kinds))
        assert answer.status_code < 500
        assert_guarded(answer)


async def test_an_unforeseen_failure_is_told_in_words_and_carries_the_policy(
    house: House, case: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    async def broken(*_: Any) -> Any:
        raise RuntimeError("Jo Example, bed 4")

    monkeypatch.setattr(house.live, "topic", broken)
    heard: list[str] = []
    monkeypatch.setattr(log, "error", lambda words, *_, **__: heard.append(words))
    for accept, start in (("text/html", "<!doctype html>"), ("application/json", '{"error"')):
        answer = await house.client.get("/board", headers=house.as_("board") | {"accept": accept})
        assert answer.status_code == 500
        assert answer.text.startswith(start) or start in answer.text
        assert "Everything acknowledged so far is stored." in answer.text
        assert "Jo Example" not in answer.text
        assert_guarded(answer)
    assert heard == ["a request failed"] * 2


async def test_an_unforeseen_failure_leaves_the_server_to_nobody_who_would_log_its_words(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def broken(*_: Any) -> Any:
        raise RuntimeError("Jo Example, bed 4")

    monkeypatch.setattr(house.live, "topic", broken)
    transport = httpx.ASGITransport(house.app, raise_app_exceptions=True)
    async with httpx.AsyncClient(transport=transport, base_url="http://door") as client:
        assert (await client.get("/board", headers=house.as_("board"))).status_code == 500


CROSS = [
    {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"}, {"origin": "http://elsewhere"},
    {"origin": "http://door.elsewhere"}, {"origin": "null"}, {"origin": "http://door:81"},
    {"sec-fetch-site": "cross-site", "origin": "http://door"},
]  # fmt: skip


@pytest.mark.parametrize("headers", CROSS, ids=str)
@pytest.mark.parametrize("path", ["/api/entries", "/api/cases", "/demo/restart"])
async def test_a_request_from_another_site_changes_nothing(
    house: House, case: str, path: str, headers: dict[str, str]
) -> None:
    given: Any = [house.tap(case)] if path == "/api/entries" else {"ref": "C9"}
    answer = await house.client.post(path, json=given, headers=house.as_("inside", "desk") | headers)
    assert answer.status_code == 403
    assert answer.json()["error"] == "This request came from another site."
    assert house.stored() == []
    assert_guarded(answer)


@pytest.mark.parametrize("headers", [{"sec-fetch-site": "same-origin"}, {"origin": "http://door"}, {}], ids=str)
async def test_a_request_from_a_page_of_this_server_is_taken(house: House, case: str, headers: dict[str, str]) -> None:
    answer = await house.post([house.tap(case)], headers=headers)
    assert answer.status_code == 200


def test_a_page_opened_by_hand_counts_as_this_servers_own() -> None:
    assert same_origin({"sec-fetch-site": "none"})


async def test_a_link_on_another_site_reads_nothing_with_a_strict_cookie(drill: House) -> None:  # noqa: F811
    for kind in ("inside", "outside", "board", "desk"):
        answer = await drill.client.get(f"/demo/open/{kind}")
        cookie = SimpleCookie(answer.headers["set-cookie"])[f"doorside_{kind}"]
        assert cookie["httponly"]
        assert cookie["samesite"].lower() == "strict"
        assert cookie["path"] == "/"
        assert cookie["domain"] == ""
        assert not cookie["secure"], "the demo is plain http on this machine"


async def test_a_cookie_given_over_https_is_never_sent_over_http(drill: House) -> None:  # noqa: F811
    answer = await drill.client.get("https://door/demo/open/board")
    assert SimpleCookie(answer.headers["set-cookie"])["doorside_board"]["secure"]


async def test_a_browser_that_is_paired_already_keeps_its_station(drill: House) -> None:  # noqa: F811
    answer = await drill.client.get("/demo/open/board", headers=drill.as_("board"))
    assert "set-cookie" not in answer.headers


async def test_a_secret_is_kept_nowhere_as_it_is(house: House, tmp_path: Path) -> None:
    station, _, secret = house.cookies["inside"].partition(".")
    kept = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert station.encode() in kept
    assert secret.encode() not in kept


async def test_a_page_is_kept_in_no_cache(house: House, case: str) -> None:
    for path, kind in (
        ("/board", "board"),
        ("/outside", "outside"),
        (f"/inside?case={case}", "inside"),
        (f"/case/{case}", "desk"),
    ):
        answer = await house.client.get(path, headers=house.as_(kind))
        assert answer.headers["cache-control"] == "no-store", path


async def test_a_refusal_is_a_page_for_people_and_json_for_scripts(house: House) -> None:
    page = await house.client.get("/board", headers={"accept": "text/html"})
    assert page.status_code == 403
    assert "<h1>This screen is not paired" in page.text
    script = await house.client.get("/board", headers={"accept": "*/*"})
    assert script.json()["do"] == "Pair it again at the desk."
