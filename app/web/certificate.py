"""The server's certificate while it is served: a renewed one is taken over by itself, and an end that is near is said.

`doorside tls renew` writes new files beside a running server. Every connection that is opened after they were seen gets
the new certificate; the open ones, streams among them, go on. Nothing has to be started anew on a night.
"""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

from app.base.certificates import Shown, ends_soon, show
from app.base.errors import DoorsideError
from app.base.log import log
from app.base.time import utc_now

LOOK_S = 2.0
"""How often the files are looked at: a renewed certificate is served this soon."""
Stamp = tuple[tuple[int, int], ...]


class Certificate:
    """The files in one folder and the context that serves them. `now` is the server's clock."""

    def __init__(self, folder: Path, now: Callable[[], datetime] = utc_now) -> None:
        self.files = (folder / "server.crt", folder / "server.key")
        self._folder, self._now = folder, now
        self._shown: Shown | None = None
        self._served: Stamp = ()
        self._said: date | None = None

    @property
    def ends(self) -> datetime | None:
        """When it runs out, if that is so soon that somebody should renew it."""
        return self._shown.until if self._shown is not None and ends_soon(self._shown, self._now()) else None

    def serving(self) -> None:
        """The files as they lie now are what is served."""
        self._served = self._stamp()
        self._shown = show(self._folder)
        self._remind()

    def look(self, context: ssl.SSLContext) -> None:
        """Takes over what was renewed since; two files that do not belong together yet are left for the next look."""
        stamp = self._stamp()
        if stamp and stamp != self._served:
            certificate, key = self.files
            try:
                ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(
                    certificate, key
                )  # the live one is never half new
                context.load_cert_chain(certificate, key)
                self._shown = show(self._folder)
            except (OSError, DoorsideError):
                return
            self._served = stamp
            log.info("a renewed certificate is served from now on")
        self._remind()

    def _stamp(self) -> Stamp:
        try:
            found = [file.stat() for file in self.files]
        except OSError:
            return ()
        return tuple((one.st_mtime_ns, one.st_ino) for one in found)

    def _remind(self) -> None:
        """Once a day, from thirty days before."""
        today = self._now().date()
        if (ends := self.ends) is not None and self._said != today:
            self._said = today
            log.warning(
                "the server's certificate runs out soon: doorside tls renew", extra={"days": (ends.date() - today).days}
            )

    async def watch(self, context: ssl.SSLContext) -> None:
        """Looks again and again, until it is cancelled."""
        while True:
            await asyncio.sleep(LOOK_S)
            self.look(context)
