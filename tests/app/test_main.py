"""The server as a whole: put together, started, stopped."""

from pathlib import Path

import httpx
import pytest

from app.base.settings import load
from app.main import create_app

pytestmark = pytest.mark.anyio


@pytest.fixture
def anyio_backend() -> str:
    return "asyncio"


async def test_it_starts_on_a_database_that_does_not_exist_yet_and_again_on_the_same(tmp_path: Path) -> None:
    settings = load(db=str(tmp_path / "new.db"), data=str(tmp_path))
    for _ in range(2):
        app = create_app(settings)
        transport = httpx.ASGITransport(app)
        async with (
            app.router.lifespan_context(app),
            httpx.AsyncClient(transport=transport, base_url="http://door") as client,
        ):
            assert (await client.get("/")).status_code == 200
            assert "DRILL" not in (await client.get("/")).text
            assert (await client.get("/static/js/page.js")).headers["cache-control"] == "no-cache"
    assert settings.key_file.stat().st_mode & 0o077 == 0, "the key is its owner's alone"


async def test_nothing_describes_its_addresses_to_strangers(tmp_path: Path) -> None:
    app = create_app(load(db=str(tmp_path / "new.db"), data=str(tmp_path)))
    transport = httpx.ASGITransport(app)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://door") as client,
    ):
        for path in ("/docs", "/redoc", "/openapi.json"):
            assert (await client.get(path)).status_code == 404
