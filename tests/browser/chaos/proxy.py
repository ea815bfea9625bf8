"""A line that is slow, stalls and breaks: a TCP relay before the server, of whose moods the test decides."""

from __future__ import annotations

import asyncio
import socket
import threading
from contextlib import suppress

SMALL = 16 * 1024
"""Buffers of a line to the server [bytes]."""


class Line:
    """Relays a port to the server's. `delay_s` holds up each piece on its way; `cut` breaks all that is open.

    Runs a loop on a thread of its own; what is set from outside is read anew for each piece.
    """

    def __init__(self, port: int) -> None:
        self.to = port
        self.delay_s = 0.0
        self._flows = asyncio.Event()
        self._flows.set()
        self.open = True
        self._loop = asyncio.new_event_loop()
        self._pipes: set[asyncio.StreamWriter] = set()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        listening = asyncio.run_coroutine_threadsafe(asyncio.start_server(self._relay, "127.0.0.1", 0), self._loop)
        self._server = listening.result()
        self.port = int(self._server.sockets[0].getsockname()[1])

    def cut(self) -> None:
        """Nothing goes through from now on, and what was open is broken."""
        self.open = False
        self._loop.call_soon_threadsafe(self._break)

    def mend(self) -> None:
        """It goes through again."""
        self.open = True

    def hold(self) -> None:
        """Nothing goes through and neither end is told: one writes on, the other hears nothing."""
        self._loop.call_soon_threadsafe(self._flows.clear)

    def let_go(self) -> None:
        """What was held goes on its way."""
        self._loop.call_soon_threadsafe(self._flows.set)

    def stop(self) -> None:
        asyncio.run_coroutine_threadsafe(self._end(), self._loop).result()
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    async def _end(self) -> None:
        self.open = False
        self._flows.set()
        self._server.close()
        self._break()
        others = asyncio.all_tasks() - {asyncio.current_task()}
        if others:
            await asyncio.wait(others)

    def _break(self) -> None:
        for pipe in self._pipes:
            pipe.transport.abort()

    async def _relay(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._pipes.add(writer)
        try:
            if not self.open:
                return
            to_reader, to_writer = await self._to_server()
            self._pipes.add(to_writer)
            try:
                await asyncio.gather(self._pump(reader, to_writer), self._pump(to_reader, writer))
            finally:
                self._pipes.discard(to_writer)
                to_writer.close()
        except OSError:  # the server is dead, or one side went away
            pass
        finally:
            self._pipes.discard(writer)
            writer.close()

    async def _to_server(self) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        """A line that is soon full when it is held, as one through the air is."""
        line = socket.socket()
        line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, SMALL)
        line.setblocking(False)
        try:
            await self._loop.sock_connect(line, ("127.0.0.1", self.to))
        except OSError:
            line.close()
            raise
        return await asyncio.open_connection(sock=line, limit=SMALL)

    async def _pump(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with suppress(OSError):
            while piece := await reader.read(65536):
                await asyncio.sleep(self.delay_s)
                await self._flows.wait()
                writer.write(piece)
                await writer.drain()
        with suppress(OSError):
            writer.close()
