"""The cases in memory: one record each, one revision each, folded as entries are stored.

Runs on the event loop alone. The writer's thread hands over what it committed (`committed`); a case that is not kept is
read from the journal when it is first asked for.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import Engine

from app.base.errors import Unknown
from app.case.fold import Record
from app.case.state import State
from app.journal import store
from app.journal.entry import Entry

KEPT_ENDED = 200
"""How many ended cases stay in memory after somebody looked at them."""


@dataclass(slots=True)
class LiveCase:
    """A case in memory. `revision` rises with every change that a page may show, `touched` with those but entries."""

    record: Record
    revision: int = 0
    ended: bool = False
    last_seq: int = field(default=0)
    touched: int = 0

    @property
    def state(self) -> State:
        return self.record.now


class Cases:
    """All cases that are looked at or not ended yet."""

    def __init__(self, engine: Engine, changed: Callable[[Iterable[str]], None] | None = None) -> None:
        self._engine = engine
        self._changed = changed
        self._live: dict[str, LiveCase] = {}
        self._ended: OrderedDict[str, None] = OrderedDict()
        self._loading: dict[str, asyncio.Future[LiveCase]] = {}
        self._loaded: Callable[[str, Record], None] | None = None
        self._early: dict[str, list[Entry]] = {}

    def on_change(self, changed: Callable[[Iterable[str]], None]) -> None:
        """Who is told which cases have changed."""
        self._changed = changed

    def on_load(self, loaded: Callable[[str, Record], None]) -> None:
        """Who is told of a case that came into memory by being asked for, not by its entries."""
        self._loaded = loaded

    def load_open(self) -> list[Entry]:
        """Folds every case that has not ended and gives their entries. Called once, before the first page."""
        found: list[Entry] = []
        for case in store.open_cases(self._engine):
            entries = store.entries(self._engine, case)
            if not self._keep(case, entries).ended:
                found.extend(entries)
        return found

    def adopt(self, records: Mapping[str, Record]) -> None:
        """Goes on with records that were folded elsewhere of the very entries kept here: each state is held once."""
        for case, record in records.items():
            if (live := self._live.get(case)) is not None and len(record.entries) == len(live.record.entries):
                live.record = record

    def open_ids(self) -> tuple[str, ...]:
        """Cases that have not ended, by the order in which their rows were made."""
        return tuple(sorted(case for case, live in self._live.items() if not live.ended))

    def peek(self, case: str) -> LiveCase | None:
        """A case if it is in memory."""
        return self._live.get(case)

    async def get(self, case: str) -> LiveCase:
        """A case, read from the journal if need be. Raises Unknown for one that was never made."""
        if (found := self._live.get(case)) is not None:
            return found
        if (loading := self._loading.get(case)) is not None:
            return await asyncio.shield(loading)
        loop = asyncio.get_running_loop()
        future: asyncio.Future[LiveCase] = loop.create_future()
        future.add_done_callback(lambda done: done.cancelled() or done.exception())
        self._loading[case] = future
        try:
            exists, entries = await asyncio.to_thread(self._read, case)
            if not exists:
                raise Unknown("There is no such case.", do="Open the list of cases at the desk.")
            live = self._keep(case, entries)
            late = [entry for entry in self._early.pop(case, ()) if entry.seq > live.last_seq]
            if late:
                self._fold(case, live, late)
            future.set_result(live)
            if self._loaded is not None and not live.ended and live.record.entries:
                self._loaded(case, live.record)
            if self._changed is not None and not live.ended:  # a page of all cases shows one more from now on
                self._changed((case,))
            return live
        except BaseException as error:
            future.set_exception(error)
            raise
        finally:
            self._early.pop(case, None)
            del self._loading[case]

    def _read(self, case: str) -> tuple[bool, list[Entry]]:
        entries = list(store.entries(self._engine, case))
        return bool(entries) or store.case_exists(self._engine, case), entries

    def _keep(self, case: str, entries: Sequence[Entry]) -> LiveCase:
        record = Record.of(case, entries)
        live = LiveCase(record, revision=len(entries), last_seq=entries[-1].seq if entries else 0)
        live.ended = record.now.closed_at is not None
        self._live[case] = live
        self._remember(case, live)
        return live

    def _remember(self, case: str, live: LiveCase) -> None:
        if not live.ended:  # perhaps not any more: its closing was taken back
            self._ended.pop(case, None)
            return
        live.record = live.record.at_rest()
        self._ended[case] = None
        self._ended.move_to_end(case)
        while len(self._ended) > KEPT_ENDED:
            oldest, _ = self._ended.popitem(last=False)
            self._live.pop(oldest, None)

    def committed(self, entries: Sequence[Entry]) -> dict[str, Record]:
        """Takes over what the writer has stored, in order of arrival; gives the records that have grown."""
        by_case: dict[str, list[Entry]] = {}
        for entry in entries:
            by_case.setdefault(entry.tap.case, []).append(entry)
        for case, new in by_case.items():
            if (live := self._live.get(case)) is not None:
                self._fold(case, live, [entry for entry in new if entry.seq > live.last_seq])
            elif case in self._loading:
                self._early.setdefault(case, []).extend(new)
            elif new[0].seq == 1:
                self._keep(case, new)
        if self._changed is not None and by_case:
            self._changed(by_case)
        return {case: live.record for case in by_case if (live := self._live.get(case)) is not None}

    def _fold(self, case: str, live: LiveCase, new: Sequence[Entry]) -> None:
        if not new:
            return
        if new[0].seq != live.last_seq + 1:  # another process wrote in between: take what stands in the journal
            new = store.entries(self._engine, case, after_seq=live.last_seq)
        live.record = live.record.with_entries(new)
        live.last_seq = new[-1].seq
        live.revision += len(new)
        live.ended = live.state.closed_at is not None
        self._remember(case, live)

    def touch(self, cases: Iterable[str]) -> None:
        """Something that pages show has changed without an entry: a limit came due, a register changed."""
        touched = [case for case in cases if case in self._live]
        for case in touched:
            self._live[case].revision += 1
            self._live[case].touched += 1
        if self._changed is not None and touched:
            self._changed(touched)
