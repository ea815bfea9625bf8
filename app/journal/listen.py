"""News from other server processes on one PostgreSQL: which case has got entries up to which number, and registers.

Notifications that come while the line is down are lost, so every time the line stands (also the first) `on_resync` is
called: whoever keeps cases or registers in memory reads what is newer from the tables. Own news is heard too.
"""

from __future__ import annotations

import select
import socket
import threading
from collections.abc import Callable
from contextlib import suppress

from sqlalchemy.engine import make_url

from app.base import news
from app.base.log import log
from app.journal.append import CHANNEL

RETRY_S = (0.1, 0.5, 2.0, 5.0)
"""Waits before connecting again; the last one is repeated."""


class Listener:
    """A thread that hears other processes' commits.

    on_change(case, seq)  a case now has entries up to `seq`
    on_resync()           the line stands; anything may have happened before
    on_register()         a register has changed. All are called on the listener's thread
    """

    def __init__(
        self,
        url: str,
        on_change: Callable[[str, int], None],
        on_resync: Callable[[], None],
        on_register: Callable[[], None] = lambda: None,
    ) -> None:
        self._conninfo = make_url(url).set(drivername="postgresql").render_as_string(hide_password=False)
        self._on_change, self._on_resync, self._on_register = on_change, on_resync, on_register
        self._stop_here, self._stop_there = socket.socketpair()
        self._thread = threading.Thread(target=self._run, name="journal-listener", daemon=True)

    def start(self) -> None:
        """Starts the thread. Once."""
        self._thread.start()

    def stop(self) -> None:
        """Ends the thread, at once."""
        self._stop_there.send(b"x")
        self._thread.join()
        self._stop_here.close()
        self._stop_there.close()

    def _run(self) -> None:
        import psycopg

        failed = 0
        while True:
            try:
                self._listen()
                return
            except psycopg.Error:
                log.warning("the line to other server processes is down")
            except Exception:
                log.exception("news from other server processes could not be taken")
            readable, _, _ = select.select([self._stop_here], [], [], RETRY_S[min(failed, len(RETRY_S) - 1)])
            if readable:
                return
            failed += 1

    def _listen(self) -> None:
        """Hears until it is to stop. Raises psycopg.Error when the line breaks."""
        import psycopg

        with psycopg.connect(
            self._conninfo, autocommit=True, keepalives_idle=10, keepalives_interval=5, keepalives_count=3
        ) as connection:
            connection.execute(f"LISTEN {CHANNEL}")
            connection.execute(f"LISTEN {news.CHANNEL}")
            self._on_resync()
            while True:
                # What came with an answer lies in memory already and would not make the socket readable.
                for notice in connection.notifies(timeout=0):
                    if notice.channel == news.CHANNEL:
                        self._on_register()
                    else:
                        self._tell(notice.payload)
                readable, _, _ = select.select([connection.fileno(), self._stop_here.fileno()], [], [])
                if self._stop_here.fileno() in readable:
                    return

    def _tell(self, payload: str) -> None:
        case, _, seq = payload.rpartition(" ")
        with suppress(ValueError):  # the channel is open to anyone on that server
            number = int(seq)
            self._on_change(case, number)
