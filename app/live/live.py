"""Everything that is live in one server process: writer, registers, cases, hub; and how a list of taps goes through.

The road of a tap: `web/api/entries.py` checks it, `Intake` adds facts and hands it to the writer's thread with all else
of that turn, and when that has answered, `Cases.committed` folds and `Hub.changed` pushes.
"""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine, Iterable, Sequence
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Engine

from app.base.time import utc_now
from app.case.fold import Record
from app.case.rules.day import Life
from app.case.rules.judge import status
from app.case.state import State
from app.journal import store
from app.journal.entry import Entry
from app.journal.keys import ServerKey
from app.journal.listen import Listener
from app.journal.writer import Writer
from app.live.cases import Cases
from app.live.contact import Contact
from app.live.drawing import Drawing
from app.live.facts import Registers
from app.live.hub import ALL, Hub, Topic
from app.live.intake import Intake
from app.live.judge import Judge
from app.live.now import CaseNow, by_room


class Live:
    """One per server process, made in `main.create_app` and reached by routes through `web/deps.py`."""

    def __init__(self, engine: Engine, key: ServerKey, zone: ZoneInfo) -> None:
        self.engine = engine
        self.zone = zone
        self.drawing = Drawing(zone)
        self.registers = Registers(engine)
        self.cases = Cases(engine)
        self.registers.ask(self._immunity_asked, zone.key)
        self.hub = Hub(self._draw)
        self.cases.on_change(self.hub.changed)
        self.cases.on_load(self._loaded)
        self.judge = Judge(self._judged_by_time)
        self.writer = Writer(engine, key, on_commit=self._stored)
        self._intake = Intake(self.writer, self.registers.facts)
        self.store = self._intake.store
        self.contact = Contact(self.store, self._state)
        self._ended: dict[str, tuple[Life, ...]] = {}
        self._listener: Listener | None = None
        self._reading: set[asyncio.Task[None]] = set()
        self._books_old = False
        self._loop: asyncio.AbstractEventLoop | None = None

    async def start(self) -> None:
        """Folds the cases that have not ended and begins to take taps."""
        self._loop = asyncio.get_running_loop()
        self.cases.adopt(self.judge.open(self.cases.load_open()))
        self.judge.start()
        if self.engine.dialect.name == "postgresql":
            await self._hear(self.engine.url.render_as_string(hide_password=False))
        self.writer.start()
        self.hub.start()

    async def stop(self) -> None:
        """Ends the streams, stores what is queued, and lets go of the database."""
        self.judge.stop()
        self.contact.stop()
        if self._listener is not None:
            await asyncio.to_thread(self._listener.stop)
        await self.hub.stop()
        await asyncio.to_thread(self.writer.stop)
        while self._reading:  # a connection that is in use now would outlive the engine
            await asyncio.wait(self._reading)
        self.engine.dispose()

    async def make_case(self, case: str, ref: str, room: str | None) -> None:
        """Makes a case's row: from then on it exists and takes entries."""
        await asyncio.wrap_future(self.writer.create_case(case, ref, room))
        self.registers.case_made(case, room)

    async def _hear(self, url: str) -> None:
        """Listens to other server processes on the same PostgreSQL; returns once the line stands or is being tried."""
        loop = asyncio.get_running_loop()

        def changed(case: str, seq: int) -> None:
            loop.call_soon_threadsafe(self._heard, case, seq)

        def register() -> None:
            loop.call_soon_threadsafe(self._heard_of_registers)

        def resync() -> None:
            register()
            for case in store.open_cases(self.engine):
                loop.call_soon_threadsafe(self._heard, case, None)

        self._listener = Listener(url, changed, resync, register)
        self._listener.start()

    def _heard(self, case: str, seq: int | None) -> None:
        """Another process has stored something, or this one has and hears of itself."""
        live = self.cases.peek(case)
        known = live.last_seq if live is not None else 0
        if seq is None or seq > known:
            self._read_aside(self._take_over(case, known))

    def _read_aside(self, reading: Coroutine[Any, Any, None]) -> None:
        task = asyncio.get_running_loop().create_task(reading)
        self._reading.add(task)
        task.add_done_callback(self._reading.discard)

    def _heard_of_registers(self) -> None:
        """A register was changed by another process, or by this one: they are read again, once for many such news."""
        if not self._books_old:
            self._books_old = True
            self._read_aside(self._take_over_registers())

    async def _take_over_registers(self) -> None:
        self._books_old = False  # what changes while they are being read is news again
        await self.registers_changed()

    async def registers_changed(self) -> None:
        """Entries take their facts from what the registers say now; pages that show some of it are drawn anew."""
        if await asyncio.to_thread(self.registers.read):
            self.cases.touch(self.cases.open_ids())

    async def _take_over(self, case: str, known: int) -> None:
        newer = await asyncio.to_thread(store.entries, self.engine, case, known)
        if newer:
            self._committed(newer)

    def _stored(self, entries: Sequence[Entry]) -> None:
        """Called on the writer's thread after each commit."""
        loop = self._loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._fold_in_turn, loop, entries)

    def _fold_in_turn(self, loop: asyncio.AbstractEventLoop, entries: Sequence[Entry]) -> None:
        """A lone tap is folded at once. While many come, whoever sent these is answered first: what they send next
        comes in meanwhile and is stored together."""
        if self._intake.busy:
            loop.call_soon(self._committed, entries)
        else:
            self._committed(entries)

    def _committed(self, entries: Sequence[Entry]) -> None:
        """Folds, judges, and lets the pages know: all that arrived together, then what came next."""
        for _, together in groupby(entries, key=lambda entry: entry.received_at):
            self._arrived(list(together))

    def _arrived(self, entries: Sequence[Entry]) -> None:
        records = self.cases.committed(entries)
        judged = {}
        for case, record in records.items():
            self._ended.pop(case, None)  # late taps of a case that has ended: its notices are gathered anew
            begins = record.entries[0].received_at == entries[0].received_at
            if begins or self.judge.knows(case) or self.judge.waits(case):
                judged[case] = record
            elif record.now.closed_at is None:  # its closing was taken back
                self.judge.take_up(case, record.entries)
        if judged:
            self.cases.touch(self.judge.folded(judged, entries[0].received))
        self._let_go(judged)
        self.contact.told(entries)

    def _judged_by_time(self, cases: Iterable[str]) -> None:
        """Time alone has raised something in these cases, or no more of them is waited for."""
        touched = tuple(cases)
        self._let_go(touched)
        self.cases.touch(touched)

    def _let_go(self, cases: Iterable[str]) -> None:
        """Judges no further what has ended, once all of it is judged."""
        for case in cases:
            live = self.cases.peek(case)
            if live is not None and live.ended and case not in self._ended and not self.judge.waits(case):
                self._ended[case] = self.judge.drop(case)

    def _loaded(self, case: str, record: Record) -> None:
        """A case that was asked for while its first entries were on their way, or made elsewhere, is judged too."""
        if not self.judge.knows(case) and not self.judge.waits(case):
            self.judge.take_up(case, record.entries)
            self.cases.touch(self.cases.open_ids())  # it may share a notice with any of them

    def _immunity_asked(self, case: str) -> str | None:
        """What immunity an opened case asks for; None while its opening is not folded."""
        live = self.cases.peek(case)
        if live is None or live.state.opened_at is None:
            return None
        return live.state.setup.immune_needed or "no"

    def notices(self, case: str) -> tuple[Life, ...]:
        """The notices of a case; of one that has ended as they ended, judged anew when that was before this start."""
        if (live := self.cases.peek(case)) is None or not live.ended or self.judge.waits(case):
            return self.judge.lives(case)
        if case not in self._ended:
            self._ended[case] = status({case: live.record.entries}, utc_now())
        return self._ended[case]

    def _state(self, case: str) -> State | None:
        live = self.cases.peek(case)
        return live.state if live is not None else None

    def seen(self, cases: Sequence[str]) -> tuple[CaseNow, ...]:
        """Cases in memory as panels see them; `*` stands for all that have not ended."""
        ids = self.cases.open_ids() if tuple(cases) == (ALL,) else cases
        found = ((case, self.cases.peek(case)) for case in ids)
        return tuple(CaseNow.of(case, live, self.notices(case)) for case, live in found if live is not None)

    def _draw(self, topic: Topic) -> dict[str, str]:
        cases = self.seen(topic.cases)
        if len(topic.cases) > 1 or topic.cases == (ALL,):
            cases = by_room(cases)
        return self.drawing.page(topic.page, cases, topic.language)

    async def topic(self, page: str, cases: tuple[str, ...], language: str) -> Topic:
        """The topic of a page, its cases read in first. Raises Unknown for a case that was never made."""
        for case in cases:
            if case != ALL:
                await self.cases.get(case)
        return self.hub.topic(page, cases, language)
