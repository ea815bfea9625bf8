"""Who is signed in at which desk, and how long ago they gave a sign of life."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime, timedelta

from sqlalchemy import Engine
from starlette.responses import Response

from app.base.time import utc_now
from app.people.sign_in import store
from app.people.sign_in.values import SignedIn

COOKIE = "doorside_person"
KEPT_S = 30
"""A sign of life is stored at most this often a session [s]: a reader is no storm of writes."""


class Sessions:
    """One per server process. `now` is the clock: a test hands in its own."""

    def __init__(self, now: Callable[[], datetime] = utc_now) -> None:
        self.now = now
        self._keeping: dict[str, asyncio.Future[None]] = {}

    def find(self, engine: Engine, secret: str, station: str, idle: timedelta) -> SignedIn | None:
        """Who a secret proves at a desk, this very request being a sign of life. None once they were idle too long."""
        now = self.now()
        found = store.signed_in(engine, secret, station, now, idle)
        if found is not None and (now - found.used_at).total_seconds() >= KEPT_S and found.session not in self._keeping:
            # Off the loop: the database's write lock may be held by a batch of taps.
            keeping = asyncio.get_running_loop().run_in_executor(None, store.used, engine, found.session, now)
            self._keeping[found.session] = keeping
            keeping.add_done_callback(lambda _: self._keeping.pop(found.session, None))
        return found


def set_cookie(response: Response, secret: str, https: bool) -> None:
    """Gives a browser its session: for scripts unreadable, for other sites' pages unsendable, gone with the browser."""
    response.set_cookie(COOKIE, secret, httponly=True, samesite="strict", secure=https)


def drop_cookie(response: Response, https: bool) -> None:
    """Takes it back."""
    response.delete_cookie(COOKIE, httponly=True, samesite="strict", secure=https)
