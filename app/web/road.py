"""The short road for taps: POST /api/entries past the framework's layers, which cost more than storing a tap.

The route stands in `routes.py` like every other and works the same when it is reached through them; here the very same
handler is called with the same guard, the same permission and the same words for refusals, and nothing in between.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from fastapi import FastAPI, Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from app.base.errors import DoorsideError
from app.web.deps import hold
from app.web.errors import answer
from app.web.permissions import Permission
from app.web.security import Guard

Handler = Callable[[Request], Awaitable[Response]]


class Held:
    """A handler behind its permission, as an ASGI application of its own. What it refuses leaves as every refusal."""

    def __init__(self, handler: Handler, permission: Permission) -> None:
        self._handler, self._permission = handler, permission

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, receive)
        try:
            hold(request, self._permission)
            response = await self._handler(request)
        except DoorsideError as error:
            response = answer(request, error)
        await response(scope, receive, send)


class Doorside(FastAPI):
    """FastAPI with one shorter way. `shorten` names it."""

    short: tuple[str, str] | None = None

    def shorten(self, method: str, path: str, road: Held) -> None:
        """From now on this one address is served past every layer but the guard."""
        self.short = (method, path)
        self._road = Guard(road)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and (scope["method"], scope["path"]) == self.short:
            scope["app"] = self
            await self._road(scope, receive, send)
        else:
            await super().__call__(scope, receive, send)
