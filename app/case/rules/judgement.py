"""Whole cases judged as their entries arrive, in any order.

For each case the judgement after each of its happenings is kept: an entry that lands at the end costs one step, and one
that lands earlier, or corrects something, is judged again from where it changes the record. What several cases show
together is judged beside that, at the few happenings that can bring it about.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import dropwhile

from app.case.fold import Record, in_common
from app.case.growing import Grown
from app.case.happening import Happening
from app.case.rules import across
from app.case.rules.engine import Engine, Raised, next_due, notice_of, step, until
from app.case.rules.notice import Identity, Notice
from app.case.rules.settings import SettingsOf, pinned
from app.case.state import EMPTY, State
from app.journal.entry import Entry

Order = tuple[datetime, str, int, str]


@dataclass(frozen=True, slots=True)
class CaseJudgement:
    """One case: its record, and the engine after the first n of its happenings as after[n].

    together  its happenings that can bring about what several cases show together
    """

    record: Record
    after: Grown[Engine]
    together: tuple[Happening, ...] = ()

    @classmethod
    def new(cls, case: str) -> CaseJudgement:
        return cls(Record(case), Grown((Engine(State(case)),)))

    @property
    def now(self) -> Engine:
        return self.after[-1]

    def before(self, order: Order) -> State:
        """The state before everything that lies at or after an order."""
        return self.after[bisect_left(self.record.history, order, key=_order)].state

    def with_record(self, record: Record, settings_of: SettingsOf) -> tuple[CaseJudgement, Order | None]:
        """The judgement of a record that has grown or changed, and from where on it differs."""
        old, new = self.record.history, record.history
        same = in_common(old, new)
        changed = [history[same].order for history in (old, new) if same < len(history)]
        engine, engines, folded = self.after[same], [], len(record.states) == len(new)
        for place in range(same, len(new)):
            engine = step(engine, new[place], settings_of, record.states[place] if folded else None)
            engines.append(engine)
        kept = self.together if same == len(old) else _can_bring_about(new[:same])
        together = kept + _can_bring_about(new[same:])
        return CaseJudgement(record, self.after.followed_by(engines, same + 1), together), min(changed, default=None)


def _can_bring_about(history: Iterable[Happening]) -> tuple[Happening, ...]:
    return tuple(h for h in history if h.kind in across.KINDS and h.stands)


def _order(h: Happening) -> Order:
    return h.order


@dataclass(frozen=True, slots=True)
class Together:
    """What was found across cases at one happening."""

    order: Order
    found: tuple[across.Together, ...]


@dataclass(frozen=True, slots=True)
class Judgement:
    """The judgement of cases on the entries that have arrived. `with_entries` gives the next one."""

    settings_of: SettingsOf = pinned
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

    def raised(self, second: datetime) -> dict[Identity, Raised]:
        """Every notice that stands when a second is over, on what has arrived."""
        found = self.raised_together()
        for case in self.cases:
            found.update(self.raised_in(case, second))
        return found

    def raised_in(self, case: str, second: datetime) -> Mapping[Identity, Raised]:
        """The notices of one case that stand when a second is over, without those that several cases show together."""
        judged = self.cases.get(case)
        return EMPTY if judged is None else until(judged.now, second, self.settings_of).raised

    def raised_together(self, *, ends: bool = False) -> dict[Identity, Raised]:
        """The notices that several cases show together; with `ends` also since when they are over: that is a search."""
        found: dict[Identity, Raised] = {}
        once: set[str] = set()
        for one in self.together:
            for shared in one.found:
                notice = notice_of(shared.case, shared.finding, shared.at, self.settings_of(self.state(shared.case)))
                if notice is None or shared.finding.once in once:
                    continue
                if shared.finding.once is not None:
                    once.add(shared.finding.once)
                found[notice.identity] = Raised(notice, resolved=self._parted(shared) if ends else None)
        return found

    def _parted(self, found: across.Together) -> datetime | None:
        """Since when what several cases showed together is no longer so."""
        parts = {case: self.cases[case] for case in found.finding.params["cases"]}
        for h in _ending_after(parts.values(), found.finding.entry):
            just_after: Order = (h.at, h.station, h.counter, h.id + "\0")
            states = {case: judged.before(just_after) for case, judged in parts.items()}
            if not across.still(found, states, h.at):
                return h.at
        return None

    def next_due(self) -> datetime | None:
        """The next second at which time alone raises a notice in any of the cases."""
        return min((due for case in self.cases if (due := self.next_due_in(case)) is not None), default=None)

    def next_due_in(self, case: str, known: Container[Identity] = ()) -> datetime | None:
        """The next second at which time alone raises a notice of a case that is not among those known."""
        judged = self.cases.get(case)
        return None if judged is None else next_due(judged.now, self.settings_of, known)

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
        if judged.together and judged.together[-1].order >= first:
            start = bisect_left(judged.together, first, key=_order)
            asked.extend((h.order, h, case) for h in judged.together[start:])
    for order, h, case in sorted(asked, key=lambda one: one[0]):
        states = {other: judged.before(order) for other, judged in cases.items() if other != case}
        own = cases[case]
        states[case] = own.after[bisect_left(own.record.history, order, key=_order) + 1].state
        found = tuple(one for one in across.notices_across(states, h.at) if one.finding.entry == h.id)
        if found:
            yield Together(order, found)
