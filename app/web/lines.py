"""Open streams by station: a screen hears at once that it was revoked, moved, or given a case.

A revoked station's streams are ended here and now. One whose cases have changed is told (`event: pairing`) and asks
where to go (POST /api/station). Changes that another server process made are seen by the stations' revisions.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from datetime import datetime
from typing import cast

from starlette.requests import HTTPConnection

from app.base.log import log
from app.base.time import utc_now
from app.journal import store as journal
from app.journal.append import Outcome
from app.live.hub import Reader
from app.live.live import Live
from app.stations import store
from app.stations.values import Report

LOOK_S = 2.0
"""How often the stations' revisions are compared: a revoke made by another process takes so long to cut a stream."""
WRITE_S = 55.0
"""A report is written to the database at most so often, unless it says something that the desk waits for."""
_TOLD = b"event: pairing\ndata: {}\n\n"


class Lines:
    """One per server process. `forget` empties the proofs of stations that are kept for a few seconds."""

    def __init__(self, live: Live, forget: Callable[[], None]) -> None:
        self._live = live
        self._forget = forget
        self._open: dict[str, set[Reader]] = {}
        self._reports: dict[str, Report] = {}
        self._written: dict[str, Report] = {}
        self._revisions: dict[str, int] = {}
        self._looking: asyncio.Task[None] | None = None

    async def start(self) -> None:
        self._revisions = await asyncio.to_thread(store.revisions, self._live.engine)
        self._looking = asyncio.get_running_loop().create_task(self._look_again())

    async def stop(self) -> None:
        if self._looking is not None:
            self._looking.cancel()
            with suppress(asyncio.CancelledError):
                await self._looking

    def join(self, station: str, reader: Reader) -> None:
        """A stream of a station is open."""
        self._open.setdefault(station, set()).add(reader)

    def leave(self, station: str, reader: Reader) -> None:
        """It is closed."""
        readers = self._open.get(station, set())
        readers.discard(reader)
        if not readers:
            self._open.pop(station, None)

    def count(self, station: str) -> int:
        """How many streams of a station are open on this server."""
        return len(self._open.get(station, ()))

    async def look(self) -> None:
        """Compares the stations' revisions and tells those that have changed, whoever changed them."""
        now = await asyncio.to_thread(store.revisions, self._live.engine)
        changed = [id_ for id_, revision in now.items() if self._revisions.get(id_) != revision]
        self._revisions = now
        if changed:
            self._forget()
            self._tell(changed)

    def _tell(self, stations: Iterable[str]) -> None:
        for id_ in stations:
            for reader in list(self._open.get(id_, ())):
                reader.push(_TOLD, reader.topic.mark)
                reader.end()  # it comes back under its new pairing, or is refused; a reader that was busy hears it then

    async def _look_again(self) -> None:
        while True:
            await asyncio.sleep(LOOK_S)
            try:
                await self.look()
            except Exception:  # the database is away for a moment: the next look finds what has changed
                log.exception("the stations could not be looked at")

    async def case_made(self, case: str, room: str | None, now: datetime | None = None) -> None:
        """Pairs a new case with the screens of its room; they open it by themselves."""
        if room is not None:
            await asyncio.to_thread(store.case_made, self._live.engine, case, room, now or utc_now())
            await self.look()

    async def follow(self, outcomes: Sequence[Outcome]) -> None:
        """Lets the rooms' screens go when a case was closed, and brings them back when the closing did not happen."""
        engine = self._live.engine
        for outcome in outcomes:
            entry = outcome.entry
            if outcome.status != "stored" or entry is None or entry.tap.kind not in ("case.close", "tap.void"):
                continue
            case = entry.tap.case
            if entry.tap.kind == "case.close":
                await asyncio.to_thread(store.case_ended, engine, case, utc_now())
            else:
                voided = await asyncio.to_thread(journal.entry, engine, str(entry.tap.body.get("ref", "")))
                if voided is None or voided.tap.kind != "case.close" or voided.tap.case != case:
                    continue
                room = await asyncio.to_thread(journal.room_of, engine, case)
                await asyncio.to_thread(store.case_made, engine, case, room, utc_now())
            await self.look()

    async def reported(self, station: str, said: Report) -> None:
        """Takes a station's report; writes it down when it is news or a minute old."""
        before = self._written.get(station)
        self._reports[station] = said
        if before is None or _news(before, said) or (said.at - before.at).total_seconds() >= WRITE_S:
            self._written[station] = said
            await asyncio.to_thread(store.report, self._live.engine, station, said)

    def report(self, station: str, stored: Report | None) -> Report | None:
        """The newest of what a station said here and of what the database knows."""
        here = self._reports.get(station)
        if here is None or (stored is not None and stored.at > here.at):
            return stored
        return here


def _news(before: Report, said: Report) -> bool:
    """Whether the desk would look different: taps began or ceased to wait, another page, the charger."""
    return (
        (before.waiting > 0) != (said.waiting > 0)
        or before.refused != said.refused
        or before.version != said.version
        or before.charging != said.charging
    )


def lines_of(request: HTTPConnection) -> Lines:
    """The open streams of this server."""
    return cast(Lines, request.app.state.lines)
