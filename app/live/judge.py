"""Notices of the cases in memory, as the day goes: judged as entries arrive, and when a limit's second is over.

Runs on the event loop. One timer stands for the next second at which time alone raises something; no page polls.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta

from app.base.log import log
from app.base.time import utc_now
from app.case.fold import Record
from app.case.rules.day import Day, Life
from app.case.rules.judge import batches
from app.journal.entry import Entry

SECOND = timedelta(seconds=1)
RETIME_S = 0.1
"""How long after a batch the next due second is looked for, once for all batches of that time: it costs more than a
tap, and what is due in this very second is shown when the second is over."""


class Judge:
    """The day's notices. `changed` is told of cases in which time alone has raised something."""

    def __init__(self, changed: Callable[[Iterable[str]], None]) -> None:
        self._changed = changed
        self._day = Day()
        self._lives: tuple[Day, Mapping[str, tuple[Life, ...]]] | None = None
        self._timer: asyncio.TimerHandle | None = None
        self._retime: asyncio.TimerHandle | None = None

    def open(self, entries: Iterable[Entry]) -> None:
        """Takes over cases from the journal, replayed as the server lived them, up to now."""
        for batch in batches(entries):
            self._day = self._day.arrive(batch)
        self._day = self._day.tick(utc_now())

    def start(self) -> None:
        """Sets the timer for the first time."""
        self._set_timer()

    def stop(self) -> None:
        for timer in (self._timer, self._retime):
            if timer is not None:
                timer.cancel()

    def folded(self, records: Mapping[str, Record], received: datetime) -> set[str]:
        """Judges a batch that was folded; gives the other cases in which it has raised or ended something."""
        before = self._day
        try:
            self._day = self._day.folded(records, received)
        except Exception:  # a rule that fails must not keep the record from the pages
            log.exception("a batch could not be judged", extra={"count": len(records)})
            return set()
        if self._retime is None:
            self._retime = asyncio.get_running_loop().call_later(RETIME_S, self._set_timer)
        return self._touched(before) - records.keys()

    def drop(self, case: str) -> tuple[Life, ...]:
        """Lets go of a case that has ended, and gives its notices as they ended."""
        lives = self.lives(case)
        seen = {identity: life for identity, life in self._day.seen.items() if life.notice.case != case}
        self._day = Day(self._day.judgement.without(case), seen)
        return lives

    def lives(self, case: str) -> tuple[Life, ...]:
        """The notices of a case, oldest first, each with what became of it so far."""
        if self._lives is None or self._lives[0] is not self._day:
            grouped: dict[str, list[Life]] = {}
            for life in self._day.lives():
                grouped.setdefault(life.notice.case, []).append(life)
            self._lives = (self._day, {name: tuple(found) for name, found in grouped.items()})
        return self._lives[1].get(case, ())

    def _touched(self, before: Day) -> set[str]:
        now, then = self._day.seen, before.seen
        return {life.notice.case for identity, life in now.items() if then.get(identity) != life}

    def _set_timer(self) -> None:
        for timer in (self._timer, self._retime):
            if timer is not None:
                timer.cancel()
        self._timer = self._retime = None
        due = self._day.next_due()
        if due is not None:
            wait = (due + SECOND - utc_now()).total_seconds()
            self._timer = asyncio.get_running_loop().call_later(max(0.0, min(wait, 3600.0)), self._ring)

    def _ring(self) -> None:
        self._timer = None
        before = self._day
        try:
            self._day = self._day.tick(utc_now())
        except Exception:
            log.exception("a limit could not be judged")
            return
        if touched := self._touched(before):
            self._changed(touched)
        self._set_timer()
