"""The writer: one thread that stores what all stations send.

Lists of taps (one list = one POST) wait in a bounded queue. The thread takes what has gathered, up to BATCH_MAX entries
of any cases, appends it in one transaction with one sync (`append`), and only then answers. So a busy minute costs one
sync for many taps and a quiet one costs a lone tap nothing.

Order after a commit: first every waiting sender gets its answer, then `on_commit` is called, both on the writer's
thread. A failing callback of either kind is logged and harms nobody else.

When a transaction fails, its entries are tried again one by one, so that a bad one takes no other with it. When it is
the database that fails (disk full, server away), the rest is not tried: those get Busy, nothing of them is stored, and
their stations send them again.

Shared fields and their owner: `_waiting`, `_count`, `_open` belong to `_lock`; everything else to the thread.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError, DisconnectionError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from app.base.errors import Busy, DoorsideError, NotValid
from app.base.log import log
from app.journal.append import NewCase, Outcome, Status, Steps, append, create_case
from app.journal.entry import Entry
from app.journal.keys import ServerKey
from app.journal.rows import Prepared

__all__ = ["Outcome", "Prepared", "Writer", "busy"]

BATCH_MAX = 256
"""Entries in one transaction, unless a single list holds more: a list is never split."""

WAITING_MAX = 4096
"""Entries that may wait. At 5,000 a second that is under a second of patience; beyond it, Busy says so at once."""

OnCommit = Callable[[list[Entry]], None]
AT_FAULT = (OperationalError, InterfaceError, DisconnectionError, PoolTimeout, OSError)
"""Errors of the database itself, not of what it was given."""


@dataclass(slots=True)
class _Job:
    """A list and whoever waits for it, or a case to be made."""

    work: list[Prepared] | NewCase
    future: Future[Any] = field(default_factory=Future)

    @property
    def size(self) -> int:
        return len(self.work) if isinstance(self.work, list) else 1


class Writer:
    """Appends to the journal of one database. One of these a process; several processes may share a PostgreSQL.

    on_commit  called with what a transaction has newly stored, in order of arrival, after its senders were answered
    """

    def __init__(
        self, engine: Engine, key: ServerKey, on_commit: OnCommit | None = None, *, waiting_max: int = WAITING_MAX
    ) -> None:
        self.steps = Steps(engine, key)
        self._on_commit = on_commit
        self._waiting_max = waiting_max
        self._lock = threading.Condition()
        self._waiting: deque[_Job] = deque()
        self._count = 0
        self._open = True
        self._uncertain: set[str] = set()  # ids refused with Busy: their commit may have acted all the same
        self._thread = threading.Thread(target=self._run, name="journal-writer", daemon=True)

    def start(self) -> None:
        """Starts the thread. Once."""
        self._thread.start()

    def submit(self, prepared: Sequence[Prepared]) -> Future[list[Outcome]]:
        """Hands over one list; the future gives one outcome an entry, in its order, once all that is stored is on disk.

        Raises Busy when too much is waiting, or after `stop`: nothing of the list is stored then.
        """
        return self._add(_Job(list(prepared)))

    def create_case(self, case: str, ref: str | None = None, room_id: str | None = None) -> Future[Status]:
        """Makes a case; the future gives `stored`, or `already` when it was there (its `ref` stays).

        Raises as `submit`. The future raises NotValid for what cannot be stored, and Busy when the database failed.
        """
        return self._add(_Job(NewCase(case, ref, room_id)))

    def stop(self) -> None:
        """Takes nothing more, stores what is waiting, answers it, and ends the thread. May be called again."""
        with self._lock:
            self._open = False
            self._lock.notify()
        if self._thread.ident is not None:
            self._thread.join()

    def _add(self, job: _Job) -> Future[Any]:
        job.future.set_running_or_notify_cancel()  # whoever hangs up early has sent it all the same
        with self._lock:
            if not self._open:
                raise busy("The server is stopping.")
            if self._count and self._count + job.size > self._waiting_max:
                raise busy("More is waiting to be stored than the server can take just now.")
            self._waiting.append(job)
            self._count += job.size
            self._lock.notify()
        return job.future

    def _run(self) -> None:
        while jobs := self._take():
            try:
                self._store(jobs)
            except Exception:  # a fault of this class: whoever waits must hear of it, and the next list is served
                log.exception("the writer failed")
            for job in jobs:
                if not job.future.done():
                    job.future.set_exception(busy("The server could not store this."))
        self.steps.close()

    def _take(self) -> list[_Job]:
        """What has gathered, up to BATCH_MAX entries; waits for the first. Empty once stopped and drained."""
        with self._lock:
            while not self._waiting and self._open:
                self._lock.wait()
            jobs: list[_Job] = []
            size = 0
            while self._waiting and (not jobs or size + self._waiting[0].size <= BATCH_MAX):
                # A new case is a transaction of its own, in its turn: what comes after it finds it.
                if jobs and isinstance(self._waiting[0].work, NewCase):
                    break
                job = self._waiting.popleft()
                jobs.append(job)
                size += job.size
                if isinstance(job.work, NewCase):
                    break
            self._count -= size
            return jobs

    def _store(self, jobs: Sequence[_Job]) -> None:
        if isinstance(new := jobs[0].work, NewCase):
            self._create(jobs[0], new)
            return
        prepared = [one for job in jobs if isinstance(job.work, list) for one in job.work]
        try:
            outcomes = append(self.steps, prepared)
        except Exception:
            log.exception("a transaction failed and is tried again entry by entry", extra={"count": len(prepared)})
            outcomes = self._one_by_one(prepared)
        rest = iter(outcomes)
        stored = self._news(outcomes)
        try:
            for job in jobs:
                self.answer(job.future, [next(rest) for _ in range(job.size)])
        finally:
            if stored:
                self.tell(stored)

    def _news(self, outcomes: Sequence[Outcome]) -> list[Entry]:
        """What is to be handed on: newly stored, or stored by a commit whose answer never came."""
        news = []
        for outcome in outcomes:
            if isinstance(outcome.error, Busy):
                self._uncertain.add(outcome.id)
            elif outcome.entry is not None and (outcome.status == "stored" or outcome.id in self._uncertain):
                self._uncertain.discard(outcome.id)
                news.append(outcome.entry)
        return news

    def _one_by_one(self, prepared: Sequence[Prepared]) -> list[Outcome]:
        outcomes: list[Outcome] = []
        database_fails = False
        for one in prepared:
            if database_fails:
                outcomes.append(Outcome(one.tap.id, "refused", error=_not_stored()))
                continue
            try:
                (outcome,) = append(self.steps, [one])
                outcomes.append(_as_first(outcome, one))
            except Exception as error:
                log.exception("an entry could not be stored", extra={"kind": one.tap.kind})
                database_fails = isinstance(error, AT_FAULT)
                bad = isinstance(error, DBAPIError | ValueError | TypeError | RecursionError) and not database_fails
                outcomes.append(Outcome(one.tap.id, "refused", error=_bad_entry() if bad else _not_stored()))
        return outcomes

    def _create(self, job: _Job, new: NewCase) -> None:
        for last in (False, True):
            try:
                status = create_case(self.steps, new)
            except DoorsideError as error:
                job.future.set_exception(error)
                return
            except Exception:
                log.exception("a case could not be made", extra={"case": new.case})
                if last:
                    job.future.set_exception(_not_stored())
                    return
            else:
                self.answer(job.future, status)
                return

    def answer(self, future: Future[Any], result: object) -> None:
        """Wakes one sender. What its callbacks raise is logged by the future itself."""
        try:
            future.set_result(result)
        except Exception:
            log.exception("a sender could not be answered")

    def tell(self, stored: list[Entry]) -> None:
        """Calls `on_commit`."""
        if self._on_commit is None:
            return
        try:
            self._on_commit(stored)
        except Exception:
            log.exception("stored entries could not be handed on", extra={"count": len(stored)})


def _as_first(outcome: Outcome, one: Prepared) -> Outcome:
    """The commit had acted and only its answer was lost: then this arrival is the one that is stored."""
    entry = outcome.entry
    if outcome.status == "already" and entry is not None and entry.received_at == one.received_at:
        return Outcome(outcome.id, "stored", entry)
    return outcome


def busy(what: str) -> Busy:
    """The refusal of what may be sent again; `what` has happened."""
    return Busy(what, holds="Nothing of it was stored.", do="It stays on the station and is sent again by itself.")


def _not_stored() -> Busy:
    return busy("The database did not take this.")


def _bad_entry() -> NotValid:
    return NotValid("The database refused this entry.", holds="It was not stored; the others of its list were.")
