"""What every answer and every request goes through, as plain ASGI so that streams are not held up.

Headers: a strict content security policy (nothing from outside, no inline script or style) and its companions. Requests
that change something must come from a page of this very server (`Sec-Fetch-Site`, else `Origin`). Bodies have a limit.
"""

from __future__ import annotations

import json
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.base.errors import DoorsideError, NotPermitted, TooLarge
from app.web.errors import unforeseen
from app.web.upload import FILE_MOST

BODY_MOST = 1_000_000
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'; object-src 'none'"
)
HEADERS = [
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), camera=(), microphone=()"),
]
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_ASKED = {name.encode(): name for name in ("sec-fetch-site", "origin", "host", "content-length")}
"""What is asked of a request's head, as it comes: names in lower case."""


def same_origin(headers: dict[str, str]) -> bool:
    """Whether a request comes from a page of this server, or from no browser at all.

    Browsers on http addresses of a local network send no `Sec-Fetch-Site`; there `Origin` decides. A request with
    neither is no browser's cross-site form: it may pass unless it carries a cookie.
    """
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None:
        return site in ("same-origin", "none")
    if origin and origin != "null":
        return urlsplit(origin).netloc == headers.get("host")
    return origin is None


class Guard:
    """The outermost layer."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        started = False

        async def with_headers(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                message["headers"] = [*message.get("headers", []), *HEADERS]
            await send(message)

        if scope["method"] not in _SAFE:
            headers = {_ASKED[name]: value.decode("latin-1") for name, value in scope["headers"] if name in _ASKED}
            if not same_origin(headers):
                await _refuse(
                    with_headers,
                    NotPermitted("This request came from another site.", do="Use this server's own pages."),
                )
                return
            length = headers.get("content-length", "")
            if length.isdecimal() and int(length) > _most(scope["path"]):
                await _refuse(with_headers, too_large())
                return
        try:
            await self.app(scope, receive, with_headers)
        except Exception as error:  # caught here, so that no outer layer logs its words and the headers are kept
            refused = unforeseen(Request(scope, receive), error)
            if not started:
                await refused(scope, receive, with_headers)


def _most(path: str) -> int:
    """How much one request may carry [bytes]: a file for a register is larger than anything else."""
    return FILE_MOST if path.startswith("/desk/registers/") and path.endswith("/import") else BODY_MOST


def too_large() -> TooLarge:
    """The refusal of a body over the limit."""
    return TooLarge(
        f"That is more than the {BODY_MOST:,} bytes that one request may carry.",
        holds="Nothing of it was stored.",
        do="Send fewer entries at a time.",
    )


async def _refuse(send: Send, error: DoorsideError) -> None:
    body = json.dumps(error.shape()).encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": error.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
