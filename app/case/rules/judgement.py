"""Whole cases judged as their entries arrive, in any order.

For each case the judgement after each of its happenings is kept: an entry that lands at the end costs one step, and one
that lands earlier, or corrects something, is judged again from where it changes the record. What several cases show
together is judged beside that, at the few happenings that can bring it about.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import dropwhile

from app.case.fold import Record
from app.case.happening import Happening
from app.case.rules import across
from app.case.rules.engine import Engine, Raised, next_due, notice_of, step, until
from app.case.rules.notice import Identity, Notice
from app.case.rules.settings import SettingsOf, built_in
from app.case.state import EMPTY, State
from app.journal.entry import Entry

Order = tuple[datetime, str, int, str]


@dataclass(frozen=True, slots=True)
class CaseJudgement:
    """One case: its record, and the engine after the first n of its happenings as after[n]."""

    record: Record
    after: tuple[Engine, ...]

    @classmethod
    def new(cls, case: str) -> CaseJudgement:
        return cls(Record(case), (Engine(State(case)),))

    @property
    def now(self) -> Engine:
        return self.after[-1]

    def before(self, order: Order) -> State:
        """The state before everything that lies at or after an order."""
        return self.after[bisect_left(self.record.history, order, key=lambda h: h.order)].state

    def with_record(self, record: Record, settings_of: SettingsOf) -> tuple[CaseJudgement, Order | None]:
        """The judgement of a record that has grown or changed, and from where on it differs."""
        same = _common(self.record.history, record.history)
        changed = [history[same].order for history in (self.record.history, record.history) if same < len(history)]
        engines = list(self.after[: same + 1])
        for h in record.history[same:]:
            engines.append(step(engines[-1], h, settings_of))
        return CaseJudgement(record, tuple(engines)), min(changed, default=None)


def _common(old: Sequence[Happening], new: Sequence[Happening]) -> int:
    """How many happenings two histories have in common at the beginning."""
    for place, (was, now) in enumerate(zip(old, new, strict=False)):
        if was is not now and was != now:
            return place
    return min(len(old), len(new))


@dataclass(frozen=True, slots=True)
class Together:
    """What was found across cases at one happening."""

    order: Order
    found: tuple[across.Together, ...]


@dataclass(frozen=True, slots=True)
class Judgement:
    """The judgement of cases on the entries that have arrived. `with_entries` gives the next one."""

    settings_of: SettingsOf = built_in
    cases: Mapping[str, CaseJudgement] = EMPTY
    together: tuple[Together, ...] = ()

    def with_entries(self, new: Iterable[Entry]) -> Judgement:
        """The judgement with entries that have arrived since."""
        by_case: dict[str, list[Entry]] = {}
        for entry in new:
            by_case.setdefault(entry.tap.case, []).append(entry)
        return self.with_records({case: self._case(case).record.with_entries(by_case[case]) for case in by_case})

    def _case(self, case: str) -> CaseJudgement:
        return self.cases.get(case) or CaseJudgement.new(case)

    def with_records(self, changed: Mapping[str, Record]) -> Judgement:
        """The judgement with these records in place of what was known of their cases: the caller has folded already."""
        cases, firsts = dict(self.cases), []
        for case, record in changed.items():
            cases[case], first = self._case(case).with_record(record, self.settings_of)
            if first is not None:
                firsts.append(first)
        if not firsts:
            return Judgement(self.settings_of, cases, self.together)
        kept = self.together[: bisect_left(self.together, min(firsts), key=lambda one: one.order)]
        return Judgement(self.settings_of, cases, (*kept, *_across(cases, min(firsts))))

    def without(self, case: str) -> Judgement:
        """The judgement of the other cases: one that has ended need not be kept for ever."""
        cases = {other: judged for other, judged in self.cases.items() if other != case}
        if not self.together:
            return Judgement(self.settings_of, cases)
        return Judgement(self.settings_of, cases, tuple(_across(cases, self.together[0].order)))

    def state(self, case: str) -> State:
        return self._case(case).now.state

    def raised(self, second: datetime, *, ends: bool = False) -> dict[Identity, Raised]:
        """Every notice that stands when a second is over, on what has arrived.

        ends  whether to look also for when that ended which several cases showed together; it costs a search
        """
        found = dict(self._raised_together(ends))
        for judged in self.cases.values():
            found.update(until(judged.now, second, self.settings_of).raised)
        return found

    def _raised_together(self, ends: bool) -> Iterator[tuple[Identity, Raised]]:
        once: set[str] = set()
        for one in self.together:
            for found in one.found:
                notice = notice_of(found.case, found.finding, found.at, self.settings_of(self.state(found.case)))
                if notice is None or found.finding.once in once:
                    continue
                if found.finding.once is not None:
                    once.add(found.finding.once)
                yield notice.identity, Raised(notice, resolved=self._parted(found) if ends else None)

    def _parted(self, found: across.Together) -> datetime | None:
        """Since when what several cases showed together is no longer so."""
        parts = {case: self.cases[case] for case in found.finding.params["cases"]}
        for h in _ending_after(parts.values(), found.finding.entry):
            just_after: Order = (h.at, h.station, h.counter, h.id + "\0")
            states = {case: judged.before(just_after) for case, judged in parts.items()}
            if not across.still(found, states, h.at):
                return h.at
        return None

    def next_due(self, seen: Mapping[Identity, object] = EMPTY) -> datetime | None:
        """The next second at which time alone raises a notice that is not among those seen."""
        dues = (self._next(judged.now, seen) for judged in self.cases.values())
        return min((due for due in dues if due is not None), default=None)

    def _next(self, engine: Engine, seen: Mapping[Identity, object]) -> datetime | None:
        while (due := next_due(engine)) is not None:
            engine = until(engine, due, self.settings_of)
            if any(identity not in seen for identity in engine.raised):
                return due
        return None

    def notices(self, second: datetime) -> tuple[Notice, ...]:
        """The notices that stand when a second is over, by time, then rule."""
        return tuple(sorted((one.notice for one in self.raised(second).values()), key=lambda notice: notice.order))


def _ending_after(cases: Iterable[CaseJudgement], entry: str) -> Iterator[Happening]:
    """Happenings of these cases, in order, that came after an entry and can end what it brought about."""
    line = heapq.merge(*(judged.record.history for judged in cases), key=lambda h: h.order)
    return (h for h in dropwhile(lambda h: h.id != entry, line) if h.kind in across.ENDING and h.id != entry)


def _across(cases: Mapping[str, CaseJudgement], first: Order) -> Iterator[Together]:
    """What is found across cases at each happening from an order on that can bring such a thing about."""
    asked: list[tuple[Order, Happening, str]] = []
    for case, judged in cases.items():
        history = judged.record.history
        start = bisect_left(history, first, key=lambda h: h.order)
        asked.extend((h.order, h, case) for h in history[start:] if h.kind in across.KINDS and h.stands)
    for order, h, case in sorted(asked, key=lambda one: one[0]):
        states = {other: judged.before(order) for other, judged in cases.items() if other != case}
        own = cases[case]
        states[case] = own.after[bisect_left(own.record.history, order, key=lambda one: one.order) + 1].state
        found = tuple(one for one in across.notices_across(states, h.at) if one.finding.entry == h.id)
        if found:
            yield Together(order, found)
