"""What was raised on the day: notices with their lives, as entries arrived and seconds passed.

Entries that share a `received_at` are folded together before anything is judged; a limit is judged when its second is
over. What later entries disprove ends as corrected, dated by the arrival that disproved it. A case of which a station
still sends the rest waits (`catching_up.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum

from app.base.moments import whole_second
from app.case.fold import Record
from app.case.rules import ask
from app.case.rules.catching_up import CatchingUp, catching_up
from app.case.rules.engine import SECOND, Raised
from app.case.rules.judgement import Judgement
from app.case.rules.notice import Identity, Notice
from app.case.state import EMPTY, State
from app.journal.entry import Entry

LATE_AFTER = timedelta(seconds=5)
"""A notice that comes this long after its second is marked late: its entries had waited. Local default [L]."""
REPEAT_AFTER = timedelta(seconds=60)
"""A critical is shown anew so often until it is acknowledged (job map 6)."""


class End(StrEnum):
    """How a notice ended."""

    RESOLVED = "resolved"
    CORRECTED = "corrected"
    STOOD = "stood"


@dataclass(frozen=True, slots=True)
class Life:
    """A notice as it was first raised, and what became of it.

    raised        when it was first shown; acknowledged: when somebody said so, on any of the case's stations
    resolved      since when what it says is no longer so
    corrected     when its cause was corrected or disproved
    """

    notice: Notice
    raised: datetime
    acknowledged: datetime | None = None
    resolved: datetime | None = None
    corrected: datetime | None = None
    stood: bool = False

    @property
    def end(self) -> End | None:
        """How it ended; None while it is open. What is still so when its case closes has stood."""
        if self.corrected is not None:
            return End.CORRECTED
        if self.resolved is not None:
            return End.RESOLVED
        return End.STOOD if self.stood else None

    def repeats(self, now: datetime) -> int:
        """How often a critical has been shown anew by a moment. The others are never repeated."""
        until = min(t for t in (now, self.acknowledged, self.resolved, self.corrected) if t is not None)
        if self.notice.severity != "C" or until < self.raised:
            return 0
        return (until - self.raised) // REPEAT_AFTER


@dataclass(frozen=True, slots=True)
class CaseDay:
    """What was raised so far in one case.

    lives   identity to notice, when it was first raised, and when it was last found not to stand
    second  the last one that was judged;  due: the next at which time alone raises something
    """

    lives: Mapping[Identity, Life] = EMPTY
    second: datetime | None = None
    due: datetime | None = None


@dataclass(frozen=True, slots=True)
class Day:
    """Everything raised so far over some cases, and the judgement to go on from.

    A batch is judged in the cases that it touches, and across those that share a notice: what it costs does not grow
    with how many others there are.

    sharing  cases under which notices stand that several cases showed together
    waiting  cases of which more is on its way: they stand as they were judged last
    """

    judgement: Judgement = field(default_factory=Judgement)
    cases: Mapping[str, CaseDay] = EMPTY
    sharing: frozenset[str] = frozenset()
    waiting: Mapping[str, CatchingUp] = EMPTY

    def arrive(self, entries: Iterable[Entry]) -> Day:
        """The day after one batch: entries that were received together, later than all before."""
        batch = tuple(entries)
        if not batch:
            return self
        by_case: dict[str, list[Entry]] = {}
        for entry in batch:
            by_case.setdefault(entry.tap.case, []).append(entry)
        records = {case: self._record(case).with_entries(new) for case, new in by_case.items()}
        return self.folded(records, max(entry.received for entry in batch))

    def folded(self, records: Mapping[str, Record], received: datetime) -> Day:
        """As `arrive`, for a caller that has folded the batch into its cases' records already."""
        day = self.tick(received)
        waiting, ready = dict(day.waiting), dict(records)
        for case, record in records.items():
            new = record.entries[len(day._record(case).entries) :]
            if (waits := catching_up(waiting.pop(case, None), record, new, received)) is not None:
                waiting[case] = waits
                del ready[case]
        dues = {case: replace(day.cases.get(case, _NOTHING), due=waits.until) for case, waits in waiting.items()}
        cases = {**day.cases, **dues} if dues else day.cases
        judged = Day(day.judgement.with_records(ready), cases, day.sharing, waiting)
        return judged._noted(ready, whole_second(received) - SECOND, received)

    def _record(self, case: str) -> Record:
        """What has arrived of a case, judged or waiting."""
        waits, judged = self.waiting.get(case), self.judgement.cases.get(case)
        return waits.record if waits is not None else judged.record if judged is not None else Record(case)

    def tick(self, now: datetime) -> Day:
        """The day when every second before this moment's own is over."""
        day, last = self, whole_second(now) - SECOND
        while (due := day.next_due()) is not None and due <= last:
            cases = [case for case, of in day.cases.items() if of.due == due]
            day = day._waited_for(cases)._noted(cases, due, due)
        return day

    def _waited_for(self, cases: Iterable[str]) -> Day:
        """The day with what has waited of these cases taken up, whether it is all or not."""
        over = {case: self.waiting[case].record for case in cases if case in self.waiting}
        if not over:
            return self
        waiting = {case: waits for case, waits in self.waiting.items() if case not in over}
        return replace(self, judgement=self.judgement.with_records(over), waiting=waiting)

    def end(self, now: datetime) -> Day:
        """The day with the second of this moment over as well: the end of a file."""
        return self.tick(whole_second(now) + SECOND)

    def next_due(self) -> datetime | None:
        """The next second at which time alone raises something new: judge when it is over."""
        return min((of.due for of in self.cases.values() if of.due is not None), default=None)

    def joined_by(self, case: str, alone: Day) -> Day:
        """The day with a case more, which has had its own day so far."""
        waiting = {**self.waiting, case: alone.waiting[case]} if case in alone.waiting else self.waiting
        judged = alone.judgement.cases.get(case)
        judgement = self.judgement if judged is None else self.judgement.with_records({case: judged.record})
        return Day(judgement, {**self.cases, case: alone.cases.get(case, _NOTHING)}, self.sharing, waiting)

    def without(self, case: str) -> Day:
        """The day of the other cases."""
        others = {other: of for other, of in self.cases.items() if other != case}
        waiting = {other: waits for other, waits in self.waiting.items() if other != case}
        return Day(self.judgement.without(case), others, self.sharing - {case}, waiting)

    def _noted(self, touched: Iterable[str], second: datetime, now: datetime) -> Day:
        """Takes up what stands in these cases when a second is over, and what does not stand any more."""
        together = self.judgement.raised_together()
        sharing = frozenset(notice[0] for notice in together)
        cases = dict(self.cases)
        for case in {*touched, *sharing, *self.sharing} - self.waiting.keys():
            standing = {identity: raised for identity, raised in together.items() if identity[0] == case}
            standing.update(self.judgement.raised_in(case, second))
            before = cases.get(case, _NOTHING)
            lives = _noted(before.lives, standing, now)
            known = {identity for identity, life in lives.items() if life.corrected is None}
            last = second if before.second is None else max(before.second, second)
            cases[case] = CaseDay(lives, last, self.judgement.next_due_in(case, known))
        return Day(self.judgement, cases, sharing, self.waiting)

    def notices(self) -> tuple[Notice, ...]:
        """Every notice as it was raised, by time, then rule."""
        found = (life.notice for of in self.cases.values() for life in of.lives.values())
        return tuple(sorted(found, key=lambda notice: notice.order))

    def lives(self) -> tuple[Life, ...]:
        """Every notice with what became of it, by time, then rule."""
        return tuple(sorted((life for case in self.cases for life in self.lives_of(case)), key=_order))

    def lives_of(self, case: str) -> tuple[Life, ...]:
        """The notices of one case with what became of them, by time, then rule."""
        of = self.cases.get(case, _NOTHING)
        if of.second is None:
            return ()
        standing = self.judgement.raised_together(ends=True) if case in self.sharing else {}
        standing.update(self.judgement.raised_in(case, of.second))
        found = (self._life(life, standing.get(identity)) for identity, life in of.lives.items())
        return tuple(sorted(found, key=_order))

    def _life(self, life: Life, standing: Raised | None) -> Life:
        state = self.judgement.state(life.notice.case)
        return replace(
            life,
            acknowledged=_acknowledged(state, life.notice),
            resolved=None if standing is None else standing.resolved,
            stood=state.closed_at is not None,
        )


_NOTHING = CaseDay()


def _noted(
    lives: Mapping[Identity, Life], standing: Mapping[Identity, Raised], now: datetime
) -> Mapping[Identity, Life]:
    """Lives of a case with what stands now taken up; the very same mapping when nothing is new."""
    changed: dict[Identity, Life] = {}
    for identity, raised in standing.items():
        life = lives.get(identity)
        if life is None:
            late = now - raised.notice.at > LATE_AFTER
            changed[identity] = Life(replace(raised.notice, late=late), now)
        elif life.corrected is not None:
            changed[identity] = replace(life, corrected=None)
    for identity, life in lives.items():
        if life.corrected is None and identity not in standing:
            changed[identity] = replace(life, corrected=now)
    return {**lives, **changed} if changed else lives


def _order(life: Life) -> tuple[datetime, str, str, str, str]:
    return life.notice.order


def _acknowledged(state: State, notice: Notice) -> datetime | None:
    """The first acknowledgement of this rule and subject since the notice's second. No subject means all of them."""
    for h in state.all("notice.ack"):
        same = ask.body(h).rule == notice.rule and ask.body(h).subject in (None, notice.subject)
        if same and h.at >= notice.at:
            return h.at
    return None
