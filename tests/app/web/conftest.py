"""A server in this process for every test of the web."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest

from app.base.settings import load
from app.main import create_app
from tests.app.web.house import House


@pytest.fixture
def anyio_backend() -> str:
    return "asyncio"


@pytest.fixture
async def house(anyio_backend: str, sqlite_url: str, tmp_path: Path) -> AsyncIterator[House]:
    """A server with an inside, an outside, a board and a desk station that serve every case."""
    app = create_app(load(db=sqlite_url, data=str(tmp_path)))
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://door") as client,
    ):
        made = House(app, client)
        for kind in ("inside", "outside", "board", "desk"):
            made.pair(kind)
        yield made


@pytest.fixture
async def case(house: House) -> str:
    """A case that exists and has no entry yet."""
    return await house.case()
