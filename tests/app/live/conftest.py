"""A live process without a web in front of it."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from app.base.database import open_engine
from app.journal.keys import ServerKey, register
from app.live.live import Live
from tests.app.live.room import UTC_ZONE, Room


@pytest.fixture
def anyio_backend() -> str:
    return "asyncio"


@pytest.fixture
async def room(anyio_backend: str, sqlite_url: str, tmp_path: Path) -> AsyncIterator[Room]:
    """A live process with one case."""
    engine = open_engine(sqlite_url)
    key = ServerKey.generate()
    register(engine, key)
    live = Live(engine, key, UTC_ZONE)
    await live.start()
    made = Room(live, key)
    made.case = await made.new_case("C1")
    yield made
    await live.stop()
