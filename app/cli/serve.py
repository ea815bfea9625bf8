"""`doorside serve`: the pages of this installation."""

from __future__ import annotations

import argparse
import asyncio
import gc
import socket
import sys
from typing import Any

import uvicorn

from app.base import certificates
from app.base.errors import DoorsideError
from app.base.settings import Settings, load
from app.base.time import utc_now
from app.main import DemoMaker, create_app
from app.people.sign_in.store import has_administrator

STOP_S = 2
"""An open stream is ended by the hub; a connection that hangs all the same is cut after this many seconds."""

LOOKED_THROUGH = (10_000, 10, 1000)
"""So many new objects are made before unused ones among them are looked for. By Python's own 700 that took as long as
the fold of a tap. All that were ever made are looked through a hundred times more seldom than Python does: they are
cases, which stay, and every tap waits meanwhile for a tenth of a second."""

UNHEARD_S = 12
"""What was sent and not confirmed by the other end for so long ends the connection. The beat comes every 5 s, so a
tablet that has lost its radio is noticed and its room can be said to be out of contact before 30 s are over (R59)."""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside serve [--db URL] [--host H] [--port N] [--tls]`."""
    parser = subparsers.add_parser("serve", help="serve the pages of this installation")
    add_words(parser)
    parser.add_argument("--tls", action="store_const", const="yes", help="serve https (see `doorside tls make`)")


def add_words(parser: argparse.ArgumentParser) -> None:
    """The words that `serve` and `demo` share."""
    parser.add_argument("--db", help="database URL (default: doorside.db in the data folder)")
    parser.add_argument("--host", help="address to listen on (default 127.0.0.1)")
    parser.add_argument("--port", help="port to listen on (default 8000; 0 lets the machine choose)")


def run(args: argparse.Namespace) -> int:
    """Serves until it is stopped."""
    return listen(load(db=args.db, host=args.host, port=args.port, tls=args.tls), None)


def listen(settings: Settings, demo: DemoMaker | None) -> int:
    """Opens the port, says where, and serves. Exit status 1 when the port cannot be had."""
    if settings.plain_on_network and not settings.allow_plain_http:
        raise DoorsideError(
            f"Plain http on {settings.host} would let anyone on the network read along.",
            holds="Nothing was started.",
            do="Make a certificate (`doorside tls make`) and serve with --tls, or set DOORSIDE_ALLOW_PLAIN_HTTP=yes.",
        )
    certificate = _certificate(settings)
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    try:
        listener = socket.create_server((settings.host, settings.port), family=family, backlog=2048)
    except OSError as error:
        raise DoorsideError(
            f"The port {settings.port} on {settings.host} cannot be opened: {error.strerror}.",
            holds="Nothing was started.",
            do="Give another with --port.",
        ) from error
    tune(listener)
    host, port = listener.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    config = uvicorn.Config(
        create_app(settings, demo), log_level="warning", access_log=False, timeout_graceful_shutdown=STOP_S,
        server_header=False, timeout_keep_alive=30, **certificate,
    )  # fmt: skip
    if settings.tls:  # by the name that the certificate carries: no browser trusts it under another
        known = certificates.show(settings.tls_dir)
        shown = next(iter(known.names or known.addresses))
        shown = f"[{shown}]" if ":" in shown else shown
    server = Announcing(config, f"{'https' if settings.tls else 'http'}://{shown}:{port}/")
    server.run(sockets=[listener])
    return 0 if server.started else 1


def _certificate(settings: Settings) -> dict[str, Any]:
    """Where uvicorn finds the certificate. Raises Unknown when none was made, DoorsideError when it has run out."""
    if not settings.tls:
        return {}
    shown = certificates.show(settings.tls_dir)
    if shown.until <= utc_now():
        raise DoorsideError(
            f"The server's certificate ran out on {shown.until:%Y-%m-%d}.",
            holds="Nothing was started.",
            do="Renew it with `doorside tls renew`: tablets that trust its authority need nothing new.",
        )
    return {
        "ssl_certfile": str(settings.tls_dir / "server.crt"),
        "ssl_keyfile": str(settings.tls_dir / "server.key"),
    }


def tune(listener: socket.socket) -> None:
    """Sets what every connection takes over from the socket that it was accepted on."""
    # A reader that stands still would otherwise pin megabytes of kernel memory each.
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 64 * 1024)
    if hasattr(socket, "TCP_USER_TIMEOUT"):  # Linux has it; elsewhere a screen out of reach is noticed in minutes
        listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, UNHEARD_S * 1000)


class Announcing(uvicorn.Server):
    """A server that says its address once it can answer."""

    def __init__(self, config: uvicorn.Config, address: str) -> None:
        super().__init__(config)
        self._address = address
        self._watching: asyncio.Task[None] | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            self._watch_certificate()
            gc.freeze()  # what a start has made stays: it need not be looked through again and again
            gc.set_threshold(*LOOKED_THROUGH)  # nor what taps have made, every few taps: most of it stays as well
            print(f"Doorside is at {self._address}", flush=True)
            self._say_set_up()
            print("Stop it with Ctrl+C.", file=sys.stderr, flush=True)

    def _watch_certificate(self) -> None:
        certificate, context = self.config.app.state.certificate, self.config.ssl  # type: ignore[union-attr]
        if certificate is not None and context is not None:
            certificate.serving()
            self._watching = asyncio.get_running_loop().create_task(certificate.watch(context))

    def _say_set_up(self) -> None:
        """While nobody administers: the one-time code, on standard error alone. A demo has its own people."""
        state = self.config.app.state  # type: ignore[union-attr]
        if state.demo is None and not has_administrator(state.live.engine):
            link = f"{self._address}setup#{state.setup.code}"
            print(f"Nobody administers this installation yet. Set it up in a browser: {link}", file=sys.stderr)
            print(f"The code alone: {state.setup.code}. It holds until this server stops.", file=sys.stderr, flush=True)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Ends open streams first: a server waits for its connections, and a stream never ends by itself."""
        if self._watching is not None:
            self._watching.cancel()
        live = getattr(self.config.app, "state", None)
        if live is not None and hasattr(live, "live"):
            await live.live.hub.stop()
        await super().shutdown(sockets)
