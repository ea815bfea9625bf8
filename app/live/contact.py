"""Whether the door can see a room: the server itself says `net.down` and `net.up`, from the lines of inside screens.

A room is out of contact when the last line of an inside screen that shows its case is gone while somebody is inside.
Why the line went does not matter: a tablet that was closed on purpose shows the door just as little. With nobody inside
nothing is said, nor of a line that is back within GONE_S: a reload, or a server that was started anew. The entry is
dated to the moment of the loss, so that R59 comes on its own second; what is open is read from the fold, so another
process or a later start ends it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterable, Sequence
from datetime import datetime
from typing import Any

from app.base.errors import DoorsideError
from app.base.ids import derived_id
from app.base.log import log
from app.base.moments import moment_text
from app.base.time import utc_now
from app.case.state import State
from app.journal.entry import Entry, Tap

GONE_S = 15.0
"""A line that is gone so long is a loss: half of the 30 s after which R59 is due, never so late that it comes late."""
SERVER = "server"
"""The station that the server is when it speaks for itself."""


class Contact:
    """The inside screens' lines of this process, by case. Lives on the event loop.

    store  stores a list of taps; state: the fold of a case, None when it is not in memory
    """

    def __init__(
        self,
        store: Callable[[Sequence[Tap]], Awaitable[Any]],
        state: Callable[[str], State | None],
        gone_s: float = GONE_S,
    ) -> None:
        self._store, self._state, self.gone_s = store, state, gone_s
        self._lines: dict[str, list[str]] = {}
        self._losing: dict[str, asyncio.TimerHandle] = {}
        self._telling: set[asyncio.Task[None]] = set()

    def joined(self, case: str, device: str, queued: int | None = None, skew_s: float | None = None) -> None:
        """A screen of the room has a line. queued: taps that wait on it; skew_s: its clock less the server's [s]."""
        self._lines.setdefault(case, []).append(device)
        if (timer := self._losing.pop(case, None)) is not None:
            timer.cancel()
        self._back(case, queued, skew_s)

    def left(self, case: str, device: str) -> None:
        """A line is gone."""
        lines = self._lines[case]
        lines.remove(device)
        if not lines:
            del self._lines[case]
            loop = asyncio.get_running_loop()
            self._losing[case] = loop.call_later(self.gone_s, self._lost, case, device, utc_now())

    def told(self, entries: Iterable[Entry]) -> None:
        """Entries were folded. A process that lost a screen to this one may have said that the room cannot be seen."""
        for case in {entry.tap.case for entry in entries if entry.tap.kind == "net.down"} & self._lines.keys():
            self._back(case, None, None)

    def stop(self) -> None:
        """The server stops: the lines that end now are not lost."""
        for timer in self._losing.values():
            timer.cancel()
        self._losing.clear()

    def _lost(self, case: str, device: str, since: datetime) -> None:
        del self._losing[case]
        state = self._state(case)
        if state is not None and state.inside and state.closed_at is None and not state.link_lost:
            self._say(case, "net.down", since, since, {"device": device})

    def _back(self, case: str, queued: int | None, skew_s: float | None) -> None:
        state = self._state(case)
        for device, lost_at in (state.link_lost if state is not None else {}).items():
            known = {"device": device or None, "queued": queued, "skew_s": skew_s}
            body = {name: value for name, value in known.items() if value is not None}
            self._say(case, "net.up", utc_now(), lost_at, body)

    def _say(self, case: str, kind: str, at: datetime, of: datetime, body: dict[str, Any]) -> None:
        """One entry of the server's. Its id follows from the loss, so that two processes say it once."""
        tap = Tap(
            id=derived_id(of, case, kind, body.get("device", "")),
            case=case,
            kind=kind,
            body=body,
            station=SERVER,
            counter=int(at.timestamp() * 1000),
            device_at=moment_text(at),
            offset_ms=0,
            error_ms=0,
        )
        task = asyncio.get_running_loop().create_task(self._tell(tap))
        self._telling.add(task)
        task.add_done_callback(self._telling.discard)

    async def _tell(self, tap: Tap) -> None:
        try:
            await self._store([tap])
        except DoorsideError:  # the journal is busy: R59 needs it not, the pages show their own age
            log.warning("contact with a room was not recorded", extra={"case": tap.case})
