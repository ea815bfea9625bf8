"""What a page loads: packed for a narrow link, asked for again, never stale."""

from __future__ import annotations

from pathlib import Path

import httpx
import pytest
from starlette.datastructures import Headers

from app.web.static import Static, takes_gzip

pytestmark = pytest.mark.anyio


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "big.css").write_text(".tap { color: inherit; }\n" * 200)
    (tmp_path / "small.css").write_text("p { margin: 0; }")
    (tmp_path / "font.woff2").write_bytes(bytes(2000))
    return tmp_path


async def ask(folder: Path, name: str, **headers: str) -> httpx.Response:
    files = Static(folder)
    async with httpx.AsyncClient(transport=httpx.ASGITransport(files), base_url="http://door") as client:
        return await client.get(f"/{name}", headers={name.replace("_", "-"): value for name, value in headers.items()})


async def test_a_style_file_comes_packed_and_whole(folder: Path) -> None:
    answer = await ask(folder, "big.css", accept_encoding="gzip, br")
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.content == (folder / "big.css").read_bytes()
    assert int(answer.headers["content-length"]) < len(answer.content) / 10
    assert answer.headers["vary"] == "Accept-Encoding"
    assert answer.headers["content-type"].startswith("text/css")


@pytest.mark.parametrize("asked", ["identity", "br", "gzip;q=0", "gzip; q=0.0"])
async def test_a_caller_that_does_not_read_gzip_gets_the_plain_file(folder: Path, asked: str) -> None:
    answer = await ask(folder, "big.css", accept_encoding=asked)
    assert "content-encoding" not in answer.headers
    assert answer.content == (folder / "big.css").read_bytes()


@pytest.mark.parametrize("name", ["small.css", "font.woff2"])
async def test_what_would_not_shrink_is_sent_as_it_is(folder: Path, name: str) -> None:
    answer = await ask(folder, name, accept_encoding="gzip")
    assert "content-encoding" not in answer.headers


@pytest.mark.parametrize("packing", ["gzip", "identity"])
async def test_an_unchanged_file_is_not_sent_twice(folder: Path, packing: str) -> None:
    first = await ask(folder, "big.css", accept_encoding=packing)
    again = await ask(folder, "big.css", accept_encoding=packing, if_none_match=first.headers["etag"])
    assert (again.status_code, again.content) == (304, b"")
    assert first.headers["cache-control"] == "no-cache"


async def test_a_changed_file_is_sent_anew_by_the_same_server(folder: Path) -> None:
    files = Static(folder)
    async with httpx.AsyncClient(transport=httpx.ASGITransport(files), base_url="http://door") as client:
        first = await client.get("/big.css", headers={"accept-encoding": "gzip"})
        (folder / "big.css").write_text(".tap { color: CanvasText; }\n" * 300)
        second = await client.get(
            "/big.css", headers={"accept-encoding": "gzip", "if-none-match": first.headers["etag"]}
        )
    assert second.status_code == 200
    assert second.content == (folder / "big.css").read_bytes()


def test_a_weight_of_nought_means_no() -> None:
    assert takes_gzip(Headers({"accept-encoding": "br;q=1, gzip;q=0.5"}))
    assert not takes_gzip(Headers({}))
