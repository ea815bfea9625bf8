"""Floors: the least that a durable live record must do on this machine, measured in the same run as Doorside.

append    one row into SQLite, write-ahead log, synchronous=FULL
bare      a raw asyncio server: POST, append, answer, then the same number of bytes to every stream
fastapi   POST on a FastAPI route that reads the same body into its type, and does nothing
unread    the same with the body left as bytes;  post: on a bare Starlette route

python -m tests.bench.floors bare DATABASE BYTES | fastapi | unread | post   prints its port, serves until it is ended
"""

from __future__ import annotations

import asyncio
import re
import socket
import sqlite3
import sys
import time
from collections.abc import Callable
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, ClassVar, cast
from uuid import UUID

import uvicorn
import uvloop
from fastapi import FastAPI
from fastapi import Request as FastRequest
from pydantic import BaseModel
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from app.cli.serve import tune
from tests.bench.clients import HOST, MOMENT, NS

ANSWER = b'{"results":[{"status":"stored","seq":1}]}'
_LENGTH = re.compile(rb"content-length: *(\d+)", re.IGNORECASE)


class Appender:
    """Appends rows, each on disk before it returns."""

    def __init__(self, path: Path) -> None:
        self._db = sqlite3.connect(path, isolation_level=None)
        self._db.execute("PRAGMA journal_mode=WAL")
        self._db.execute("PRAGMA synchronous=FULL")
        self._db.execute("CREATE TABLE entry (seq INTEGER PRIMARY KEY, body BLOB NOT NULL, hash BLOB NOT NULL)")
        self._hash = b""

    def append(self, body: bytes) -> None:
        self._hash = sha256(self._hash + body).digest()
        self._db.execute("BEGIN IMMEDIATE")
        self._db.execute("INSERT INTO entry (body, hash) VALUES (?, ?)", (body, self._hash))
        self._db.execute("COMMIT")

    def close(self) -> None:
        self._db.close()


def append_times(path: Path, count: int, pause_s: float) -> list[int]:
    """How long one append takes, each after a pause as real taps have it [ns]."""
    appender, body, times = Appender(path), b"x" * 300, []
    for _ in range(count):
        time.sleep(pause_s)
        start = NS()
        appender.append(body)
        times.append(NS() - start)
    appender.close()
    return times


class _Bare(asyncio.Protocol):
    """GET opens a stream of the path; POST appends, answers, and sends its moment to the streams of `case=`'s path.

    Taps of one turn of the loop share a push, and no queue is kept for a stream that is slow: what it has not taken in
    is passed over for the newest. With a queue the floor would measure how fast the machine copies bytes that no page
    needs any more.
    """

    streams: ClassVar[dict[bytes, set[_Bare]]] = {}
    newest: ClassVar[dict[bytes, bytes]] = {}
    changed: ClassVar[set[bytes]] = set()
    message: ClassVar[dict[bytes, bytes]] = {}
    append: Callable[[bytes], None]
    size = 1024

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport, self.buffer, self.path = cast(asyncio.WriteTransport, transport), b"", b""
        self.slow = self.behind = False

    def connection_lost(self, exc: Exception | None) -> None:
        self.streams.get(self.path, set()).discard(self)

    def pause_writing(self) -> None:
        self.slow = True

    def resume_writing(self) -> None:
        self.slow = False
        if self.behind:
            self.behind = False
            self.transport.write(self.message[self.path])

    def data_received(self, data: bytes) -> None:
        self.buffer += data
        end = self.buffer.find(b"\r\n\r\n")
        if end < 0:
            return
        if self.buffer.startswith(b"GET"):
            self.path = self.buffer.split(b" ", 2)[1]
            self.transport.write(b"HTTP/1.1 200 OK\r\ncontent-type: text/event-stream\r\n\r\n: here\n\n")
            self.transport.set_write_buffer_limits(high=0)
            self.streams.setdefault(self.path, set()).add(self)
            self.buffer = b""
            return
        said = _LENGTH.search(self.buffer)
        assert said is not None
        if len(self.buffer) < end + 4 + int(said[1]):
            return
        body, self.buffer = self.buffer[end + 4 :], b""
        type(self).append(body)
        self.transport.write(b"HTTP/1.1 200 OK\r\ncontent-length: %d\r\n\r\n" % len(ANSWER) + ANSWER)
        case = body.split(b'"case":"', 1)[1].split(b'"', 1)[0]
        moment = MOMENT.search(body)
        assert moment is not None
        path = b"/live?case=" + case
        if not self.changed:
            asyncio.get_running_loop().call_soon(self.fan)
        self.changed.add(path)
        # Taps of several connections may overtake each other: what a page shows is the newest by its own moment.
        self.newest[path] = max(moment[0], self.newest.get(path, b""))

    def fan(self) -> None:
        for path in self.changed:
            head = b"data: " + self.newest[path]
            self.message[path] = head + b"x" * (self.size - len(head) - 2) + b"\n\n"
            for stream in self.streams.get(path, ()):
                if stream.slow:
                    stream.behind = True
                else:
                    stream.transport.write(self.message[path])
        self.changed.clear()


def serve_bare(database: Path, size: int) -> None:
    """The whole path with nothing in it that could be left out."""
    appender = Appender(database)
    for _ in range(2000):  # past the first checkpoint the log is written over in place: the steady state
        appender.append(b"x" * 300)
    _Bare.append, _Bare.size = staticmethod(appender.append), size

    async def main() -> None:
        listener = socket.create_server((HOST, 0), backlog=2048)
        tune(listener)
        server = await asyncio.get_running_loop().create_server(_Bare, sock=listener)
        print(listener.getsockname()[1], flush=True)
        await server.serve_forever()

    uvloop.run(main())


def _serve(app: Any) -> None:
    listener = socket.create_server((HOST, 0), backlog=2048)

    class Told(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            print(listener.getsockname()[1], flush=True)

    Told(uvicorn.Config(app, log_level="error", access_log=False)).run(sockets=[listener])


def serve_post() -> None:
    async def tap(request: Request) -> Response:
        await request.body()
        return Response(ANSWER, media_type="application/json")

    _serve(Starlette(routes=[Route("/tap", tap, methods=["POST"])]))


class TapIn(BaseModel):
    """The body of a tap as an engineer would declare it on the first day."""

    id: UUID
    case: str
    kind: str
    body: dict[str, Any]
    station: str
    counter: int
    device_at: datetime
    role: str | None = None
    person: str | None = None
    offset_ms: float | None = None
    error_ms: float | None = None


def serve_fastapi() -> None:
    """Reads the body into its type, and does nothing with it."""
    app = FastAPI()

    @app.post("/tap")
    async def tap(taps: list[TapIn]) -> dict[str, Any]:
        return {"results": [{"status": "stored", "seq": 1}]}

    _serve(app)


def serve_unread() -> None:
    """Leaves the body as bytes: no route that takes a list can do so little."""
    app = FastAPI()

    @app.post("/tap", response_model=None)
    async def tap(request: FastRequest) -> Response:
        await request.body()
        return Response(ANSWER, media_type="application/json")

    _serve(app)


if __name__ == "__main__":
    what = sys.argv[1]
    if what == "bare":
        serve_bare(Path(sys.argv[2]), int(sys.argv[3]))
    else:
        {"post": serve_post, "unread": serve_unread, "fastapi": serve_fastapi}[what]()
