"""Open lines over a real socket: heartbeat, end of life, a reader that stands still, a clean stop, no session held.

A server runs in this process; the lines are plain sockets, so that a test decides when a reader reads.
"""

from __future__ import annotations

import asyncio
import gc
import json
import socket
from collections.abc import AsyncIterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest
import uvicorn
from sqlalchemy import Engine, create_engine

from app.base.settings import load
from app.cli.serve import Announcing
from app.live.drawing import Drawing
from app.main import create_app
from app.stations.values import KINDS
from tests.app.web.house import House, until

pytestmark = pytest.mark.anyio
PATIENCE_S = 20
SMALL = 16 * 1024
"""Buffers of a line [bytes], so that one that nobody reads is soon full."""
HUNDREDS = 200


@dataclass
class Line:
    """An open stream as a page reads it: its panels, the newest mark, and how many beats came."""

    reader: asyncio.StreamReader
    writer: asyncio.StreamWriter
    panels: dict[str, str] = field(default_factory=dict)
    mark: str = ""
    beats: int = 0
    pushes: int = 0
    status: int = 0
    _rest: str = ""

    async def head(self) -> None:
        """Reads the head of the answer."""
        head = await asyncio.wait_for(self.reader.readuntil(b"\r\n\r\n"), PATIENCE_S)
        self.status = int(head.split(b" ", 2)[1])

    async def read(self) -> bool:
        """Takes in what has come next; False when the server has closed the line."""
        with suppress(asyncio.IncompleteReadError):
            size = int(await asyncio.wait_for(self.reader.readuntil(b"\r\n"), PATIENCE_S), 16)
            chunk = await asyncio.wait_for(self.reader.readexactly(size + 2), PATIENCE_S)
            self._rest += chunk[:-2].decode()
            *events, self._rest = self._rest.split("\n\n")
            for event in events:
                self._take(event)
            return size > 0
        return False

    def _take(self, event: str) -> None:
        fields = dict(line.split(": ", 1) for line in event.split("\n") if not line.startswith(":"))
        self.mark = fields.get("id", self.mark)
        self.beats += fields.get("event") == "beat"
        if fields.get("event") == "panels":
            self.pushes += 1
            self.panels |= json.loads(fields["data"])["panels"]

    async def close(self) -> None:
        self.writer.close()
        with suppress(ConnectionError):
            await self.writer.wait_closed()


@dataclass
class Served:
    """The server of this test and the lines that are open on it."""

    house: House
    port: int
    lines: list[Line] = field(default_factory=list)

    async def line(self, page: str, kind: str, *cases: str, seen: str = "", buffer: int | None = None) -> Line:
        """Opens a line and reads what is given at once: everything, unless it says what the page has seen."""
        own = socket.socket()
        if buffer is not None:
            own.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, buffer)
        own.connect(("127.0.0.1", self.port))
        own.setblocking(False)
        reader, writer = await asyncio.open_connection(sock=own, limit=buffer or 2**16)
        query = "&".join([f"page={page}", f"seen={seen}", *(f"case={case}" for case in cases)])
        cookie = self.house.as_(kind)["cookie"]
        writer.write(f"GET /api/live?{query} HTTP/1.1\r\nhost: 127.0.0.1\r\ncookie: {cookie}\r\n\r\n".encode())
        line = Line(reader, writer)
        self.lines.append(line)
        await line.head()
        assert line.status == 200
        while not line.mark:
            await line.read()
        return line

    async def say(self, case: str, *bodies: dict[str, Any]) -> None:
        """Stores readings of the monitor, one after the other, and waits until they are folded."""
        for body in bodies:
            await self.house.post([self.house.tap(case, body=body)])

    def fresh(self, page: str, *cases: str) -> dict[str, str]:
        """The page as somebody gets it who opens it now."""
        return Drawing(ZoneInfo("UTC")).page(page, self.house.live.seen(cases), "en")


@pytest.fixture
def beating(monkeypatch: pytest.MonkeyPatch) -> None:
    """Heartbeats as quick as a test wants them."""
    monkeypatch.setattr("app.live.hub.HEARTBEAT_S", 0.02)


@pytest.fixture
def short_lived(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines that end by themselves soon."""
    monkeypatch.setattr("app.web.api.stream.LIFE_S", 0.3)


@pytest.fixture
def one_session(monkeypatch: pytest.MonkeyPatch) -> None:
    """A database that gives one connection at a time, and fails who waits for another."""

    def opened(*words: Any, **others: Any) -> Engine:
        return create_engine(*words, **{**others, "pool_size": 1, "max_overflow": 0, "pool_timeout": 3})

    monkeypatch.setattr("app.base.database.create_engine", opened)


@pytest.fixture
async def served(anyio_backend: str, sqlite_url: str, tmp_path: Path) -> AsyncIterator[Served]:
    """A server on a free port. It is stopped while the lines are open, and has to stop all the same."""
    app = create_app(load({}, db=sqlite_url, data=str(tmp_path)))
    listener = socket.create_server(("127.0.0.1", 0))
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SMALL)
    port = listener.getsockname()[1]
    server = Announcing(uvicorn.Config(app, log_level="error", timeout_graceful_shutdown=2), f"127.0.0.1:{port}/")
    serving = asyncio.create_task(server.serve([listener]))
    await until(lambda: server.started or serving.done(), "the server's start")
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}", trust_env=False) as client:
        house = House(app, client)
        for kind in KINDS:
            house.pair(kind)
        await app.state.lines.look()  # it knows them from here on: a change of a station's pairing ends its lines
        made = Served(house, port)
        yield made
    server.should_exit = True
    await asyncio.wait_for(serving, PATIENCE_S)
    gc.unfreeze()
    for line in made.lines:
        await line.close()


async def test_an_idle_line_beats(beating: None, served: Served) -> None:
    case = await served.house.case()
    line = await served.line("inside", "inside", case)
    while line.beats < 3:
        assert await line.read()
    assert line.panels == served.fresh("inside", case)


async def test_a_line_ends_after_its_longest_life_and_the_page_that_comes_back_misses_nothing(
    short_lived: None, served: Served
) -> None:
    case = await served.house.case()
    line = await served.line("inside", "inside", case)
    while await line.read():
        pass
    await served.say(case, {"spo2": 91})
    again = await served.line("inside", "inside", case, seen=line.mark)
    assert again.panels, "what changed while nobody listened"
    assert again.panels.keys() < line.panels.keys(), "and nothing else"
    assert line.panels | again.panels == served.fresh("inside", case)


async def test_no_open_line_holds_a_session_of_the_database(one_session: None, served: Served) -> None:
    case = await served.house.case()
    pages = (
        ("inside", "inside", case),
        ("outside", "outside"),
        ("board", "board"),
        ("wall", "board", case),
        ("case", "desk", case),
    )
    lines = [await served.line(*page) for page in pages for _ in range(4)]
    await served.say(case, {"spo2": 91}, {"spo2": 92})
    for line, page in zip(lines, (page for page in pages for _ in range(4)), strict=True):
        wanted = served.fresh(page[0], case)
        while line.panels != wanted:
            assert await line.read()


async def test_a_reader_that_stands_still_through_hundreds_of_pushes_is_brought_up_to_date_in_a_few(
    served: Served,
) -> None:
    case = await served.house.case()
    still = await served.line("inside", "inside", case, buffer=SMALL)
    awake = await served.line("inside", "inside", case)
    first = awake.pushes
    for number in range(HUNDREDS):
        await served.say(case, {"spo2": 80 + number % 20})
        while awake.mark != await newest(served, case):
            assert await awake.read()
    wanted = served.fresh("inside", case)
    assert awake.panels == wanted
    assert awake.pushes - first >= HUNDREDS
    while still.panels != wanted:
        assert await still.read()
    assert still.mark == awake.mark
    assert still.pushes < awake.pushes / 2


async def newest(served: Served, case: str) -> str:
    """The mark of a page that is loaded now."""
    return (await served.house.live.topic("inside", (case,), "en")).mark


async def test_a_server_stops_at_once_while_lines_of_every_kind_are_open(served: Served) -> None:
    case = await served.house.case()
    lines = [
        await served.line(page, kind, *((case,) if page in ("inside", "wall", "case") else ()))
        for page, kind in (
            ("inside", "inside"),
            ("outside", "outside"),
            ("board", "board"),
            ("wall", "board"),
            ("case", "desk"),
        )
    ]
    await served.house.live.hub.stop()
    for line in lines:
        while await line.read():
            pass
    async with asyncio.timeout(PATIENCE_S):
        refused = await served.house.client.get("/api/live?page=outside", headers=served.house.as_("outside"))
    assert refused.status_code == 404, "no new line while it stops"
