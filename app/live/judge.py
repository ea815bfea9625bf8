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
from app.case.rules.day import CaseDay, Day, Life
from app.case.rules.judge import batches
from app.case.rules.judgement import CaseJudgement, Together
from app.journal.entry import Entry

SECOND = timedelta(seconds=1)
Kept = tuple[CaseDay | None, CaseJudgement | None, tuple[Together, ...]]
"""What the notices of a case are made of: they are gathered anew when one of these is another."""


class Judge:
    """The day's notices. `changed` is told of cases in which time alone has raised something or ended a wait."""

    def __init__(self, changed: Callable[[Iterable[str]], None]) -> None:
        self._changed = changed
        self._day = Day()
        self._lives: dict[str, tuple[Kept, tuple[Life, ...]]] = {}
        self._timer: asyncio.TimerHandle | None = None
        self._rings: datetime | None = None

    def open(self, entries: Iterable[Entry]) -> dict[str, Record]:
        """Takes over cases from the journal, replayed as the server lived them, up to now; gives their records."""
        for batch in batches(entries):
            self._day = self._day.arrive(batch)
        self._day = self._day.tick(utc_now())
        return {case: judged.record for case, judged in self._day.judgement.cases.items()}

    def knows(self, case: str) -> bool:
        """Whether a case is judged."""
        return case in self._day.judgement.cases

    def waits(self, case: str) -> bool:
        """Whether a case is not judged just now: a station still sends the rest of what it had."""
        return case in self._day.waiting

    def start(self) -> None:
        """Sets the timer for the first time."""
        self._set_timer()

    def stop(self) -> None:
        if self._timer is not None:
            self._timer.cancel()

    def folded(self, records: Mapping[str, Record], received: datetime) -> set[str]:
        """Judges a batch that was folded; gives the other cases in which it has raised or ended something."""
        before = self._day
        try:
            self._day = self._day.folded(records, received)
        except Exception:  # a rule that fails must not keep the record from the pages
            log.exception("a batch could not be judged", extra={"count": len(records)})
            return set()
        if self._day.next_due() != self._rings:
            self._set_timer()
        return self._touched(before) - records.keys()

    def take_up(self, case: str, entries: Iterable[Entry]) -> None:
        """Judges a case from now on that comes late, or back: what was raised in it on its own day is there."""
        alone, now = Day(), utc_now()
        for batch in batches(entries):
            alone = alone.arrive(batch)
        self._day = self._day.joined_by(case, alone.tick(now)).folded({}, now)
        self._set_timer()

    def drop(self, case: str) -> tuple[Life, ...]:
        """Lets go of a case that has ended, and gives its notices as they ended."""
        lives = self.lives(case)
        self._day = self._day.without(case)
        self._lives.pop(case, None)
        return lives

    def lives(self, case: str) -> tuple[Life, ...]:
        """The notices of a case, oldest first, each with what became of it so far."""
        judgement = self._day.judgement
        now: Kept = (self._day.cases.get(case), judgement.cases.get(case), judgement.together)
        kept, lives = self._lives.get(case, (None, ()))
        if kept is None or any(was is not of for was, of in zip(kept, now, strict=True)):
            found = self._day.lives_of(case)
            lives = lives if found == lives else found  # what is the same is the same object: panels go by that
            self._lives[case] = (now, lives)
        return lives

    def _touched(self, before: Day) -> set[str]:
        then, over = before.cases, before.waiting.keys() - self._day.waiting.keys()
        new = {case for case, of in self._day.cases.items() if case not in then or then[case].lives is not of.lives}
        return new | over

    def _set_timer(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        self._rings = self._day.next_due()
        if self._rings is not None:
            wait = (self._rings + SECOND - utc_now()).total_seconds()
            self._timer = asyncio.get_running_loop().call_later(max(0.0, min(wait, 3600.0)), self._ring)

    def _ring(self) -> None:
        self._timer = self._rings = None
        before = self._day
        try:
            self._day = self._day.tick(utc_now())
        except Exception:
            log.exception("a limit could not be judged")
            return
        if touched := self._touched(before):
            self._changed(touched)
        self._set_timer()
