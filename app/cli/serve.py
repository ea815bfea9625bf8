"""`doorside serve`: the pages of this installation."""

from __future__ import annotations

import argparse
import socket
import sys

import uvicorn

from app.base.errors import DoorsideError
from app.base.settings import Settings, load
from app.main import DemoMaker, create_app

LOOPBACK = ("127.0.0.1", "::1", "localhost")
STOP_S = 2
"""An open stream is ended by the hub; a connection that hangs all the same is cut after this many seconds."""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside serve [--db URL] [--host H] [--port N]`."""
    parser = subparsers.add_parser("serve", help="serve the pages of this installation")
    add_words(parser)


def add_words(parser: argparse.ArgumentParser) -> None:
    """The words that `serve` and `demo` share."""
    parser.add_argument("--db", help="database URL (default: doorside.db in the data folder)")
    parser.add_argument("--host", help="address to listen on (default 127.0.0.1)")
    parser.add_argument("--port", help="port to listen on (default 8000; 0 lets the machine choose)")


def run(args: argparse.Namespace) -> int:
    """Serves until it is stopped."""
    return listen(load(db=args.db, host=args.host, port=args.port), None)


def listen(settings: Settings, demo: DemoMaker | None) -> int:
    """Opens the port, says where, and serves. Exit status 1 when the port cannot be had."""
    if settings.host not in LOOPBACK and not settings.allow_plain_http:
        raise DoorsideError(
            f"Plain http on {settings.host} would let anyone on the network read along.",
            holds="Nothing was started.",
            do="Listen on 127.0.0.1 behind a TLS proxy, or set DOORSIDE_ALLOW_PLAIN_HTTP=yes.",
        )
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    try:
        listener = socket.create_server((settings.host, settings.port), family=family, backlog=2048)
    except OSError as error:
        raise DoorsideError(
            f"The port {settings.port} on {settings.host} cannot be opened: {error.strerror}.",
            holds="Nothing was started.",
            do="Give another with --port.",
        ) from error
    # A reader that stands still would otherwise pin megabytes of kernel memory each.
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 64 * 1024)
    host, port = listener.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    config = uvicorn.Config(
        create_app(settings, demo), log_level="warning", access_log=False, timeout_graceful_shutdown=STOP_S,
        server_header=False, timeout_keep_alive=30,
    )  # fmt: skip
    server = Announcing(config, f"Doorside is at http://{shown}:{port}/")
    server.run(sockets=[listener])
    return 0 if server.started else 1


class Announcing(uvicorn.Server):
    """A server that says its address once it can answer."""

    def __init__(self, config: uvicorn.Config, words: str) -> None:
        super().__init__(config)
        self._words = words

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            print(self._words, flush=True)
            print("Stop it with Ctrl+C.", file=sys.stderr, flush=True)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Ends open streams first: a server waits for its connections, and a stream never ends by itself."""
        live = getattr(self.config.app, "state", None)
        if live is not None and hasattr(live, "live"):
            await live.live.hub.stop()
        await super().shutdown(sockets)
