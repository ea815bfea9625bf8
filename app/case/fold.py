"""The fold: from a journal to the state of its case. Same entries, same state, whatever order they arrived in."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from heapq import merge
from typing import Any

from app.case.both_sides import kept_instead
from app.case.correction import CORRECTIONS, first_taps, happenings
from app.case.folds.handlers import HANDLERS
from app.case.folds.protection import ROOM_DOOR
from app.case.growing import Grown
from app.case.happening import Happening, Mark
from app.case.state import EMPTY, Person, State, with_item
from app.case.vocabulary.protection import RoomReady
from app.journal.entry import Entry

__all__ = ["CORRECTIONS", "ROOM_DOOR", "Record", "apply", "fold", "in_common", "marked"]

LIFE_KINDS = frozenset({"case.open", "case.close", "case.sign"})
"""Opening, closing and signing mark entries around them."""


def apply(state: State, happening: Happening) -> State:
    """The state after one more happening, which must not lie before the ones already applied."""
    if not happening.stands or happening.body is None:
        return state
    state = _with_facts(state, happening.facts)
    if kept_instead(state, happening) is not None:
        also = (*state.linked.get(happening.kind, ()), happening)
        return replace(state, linked=with_item(state.linked, happening.kind, also), last_at=happening.at)
    state = HANDLERS[happening.kind](state, happening, happening.body)
    before = state.by_kind.get(happening.kind)
    kept = Grown((happening,)) if before is None else before.followed_by((happening,))
    return state.after(happening.at, with_item(state.by_kind, happening.kind, kept))


def _with_facts(state: State, facts: Mapping[str, Any]) -> State:
    """What the registers said with this entry: the latest word on each person and on the room counts."""
    if not facts:
        return state
    people = state.people
    for p, said in (facts.get("people") or EMPTY).items():
        known = people.get(p) or Person(p)
        if known.facts != said:
            people = with_item(people, p, replace(known, facts=said))
    room = state.room
    if said := facts.get("room"):
        room = replace(
            room,
            id=said.get("id", room.id),
            name=said.get("name", room.name),
            ach=room.ach if _air_was_measured(state) else said.get("ach", room.ach),
            clear_percent=said.get("clear", room.clear_percent),
            mixing=said.get("mixing", room.mixing),
            anteroom=said.get("anteroom", room.anteroom),
            tz=said.get("tz", room.tz),
        )
    return replace(state, people=people, room=room)


def _air_was_measured(state: State) -> bool:
    """Whether the room's air changes were said when it was proven: they count from then on, not the register's."""
    return any(isinstance(h.body, RoomReady) and h.body.ach is not None for h in state.all(RoomReady.kind))


def marked(history: Sequence[Happening]) -> tuple[Happening, ...]:
    """Happenings with their place in the case's life: before it was opened, after it was closed or signed."""
    standing = [h for h in history if h.stands and h.body is not None]
    opened = next((h for h in standing if h.kind == "case.open"), None)
    closed = next((h for h in standing if h.kind == "case.close"), None)
    signed = next((h for h in standing if h.kind == "case.sign"), None)
    result = []
    for h in history:
        extra = set()
        if opened is not None and h.order < opened.order:
            extra.add(Mark.BEFORE_OPEN)
        if closed is not None and h.order > closed.order and h.kind not in ("case.sign", *CORRECTIONS):
            extra.add(Mark.AFTER_CLOSE)
        if signed is not None and h.order > signed.order:
            extra.add(Mark.AFTER_SIGN)
        result.append(replace(h, marks=h.marks | extra) if extra else h)
    return tuple(result)


def fold(case: str, entries: Iterable[Entry]) -> State:
    """The state of a case from its entries, in any order."""
    state = State(case)
    for happening in marked(happenings(entries)):
        state = apply(state, happening)
    return state


@dataclass(frozen=True, slots=True)
class Record:
    """A case kept in memory: its entries, and the state they fold to. `with_entries` gives the next one.

    The common tap happens after all before it and corrects nothing: it costs one `apply`. One that lands earlier is
    applied with what comes after it. A correction has everything read anew, and applied from where that differs.

    states     after each happening, for whoever judges them; empty in a record at rest, which folds anew when it must
    awaited    ids that corrections name;  unclocked: stations that have sent taps without knowing their clock's error

    Happenings that a record has in common with the one before it, from the first on, are the very same objects.
    """

    case: str
    entries: Grown[Entry] = field(default_factory=Grown)
    history: Grown[Happening] = field(default_factory=Grown)
    state: State | None = None
    states: Grown[State] = field(default_factory=Grown, repr=False)
    awaited: frozenset[str] = frozenset()
    unclocked: frozenset[str] = frozenset()

    @classmethod
    def of(cls, case: str, entries: Iterable[Entry]) -> Record:
        return cls(case)._anew(Grown(entries))

    @property
    def now(self) -> State:
        return self.state or State(self.case)

    def at_rest(self) -> Record:
        """The same record without the states before the last: a case that has ended is looked at and seldom grows."""
        return replace(self, states=Grown())

    def with_entries(self, new: Sequence[Entry]) -> Record:
        """The record with entries that have arrived since."""
        entries = self.entries.followed_by(new)
        if self.state is None or self._mended_by(new):
            return self._anew(entries)
        fresh = first_taps(new)
        place = self._place(fresh)
        if place < len(self.history) and self._before_opening(fresh[0]):
            return self._anew(entries)
        tail = fresh if place == len(self.history) else tuple(merge(self.history[place:], fresh, key=_order))
        return self._grown(entries, self.history.followed_by(tail, place), place)

    def _mended_by(self, new: Sequence[Entry]) -> bool:
        """Whether these change how others are read: corrections, unknown clocks, and where the case begins and ends."""
        ends = self.now.closed_at is not None or self.now.signed_at is not None
        return ends or any(
            tap.kind in CORRECTIONS or tap.offset_ms is None or tap.kind in LIFE_KINDS
            or tap.id in self.awaited or tap.station in self.unclocked
            for tap in (entry.tap for entry in new)
        )  # fmt: skip

    def _before_opening(self, happening: Happening) -> bool:
        opened = self.now.first("case.open")
        return opened is not None and happening.order < opened.order

    def _place(self, fresh: Sequence[Happening]) -> int:
        """How many happenings lie before the first of these."""
        if not fresh or not self.history or self.history[-1].order <= fresh[0].order:
            return len(self.history)
        return bisect_left(self.history, fresh[0].order, key=_order)

    def _anew(self, entries: Grown[Entry]) -> Record:
        """Everything read again; what is as it was at the beginning is kept."""
        history = marked(happenings(entries))
        same = in_common(self.history, history)
        awaited = frozenset(str(entry.tap.body.get("ref")) for entry in entries if entry.tap.kind in CORRECTIONS)
        unclocked = frozenset(entry.tap.station for entry in entries if entry.tap.offset_ms is None)
        known = replace(self, awaited=awaited, unclocked=unclocked)
        return known._grown(entries, self.history.followed_by(history[same:], same), same)

    def _grown(self, entries: Grown[Entry], history: Grown[Happening], same: int) -> Record:
        """The record with a history of which so many happenings are as they were."""
        if len(self.states) < same:
            same = 0
        state, after = self.states[same - 1] if same else State(self.case), []
        for happening in history[same:]:
            state = apply(state, happening)
            after.append(state)
        states = self.states.followed_by(after, same)
        return Record(self.case, entries, history, state, states, self.awaited, self.unclocked)


def in_common(old: Sequence[Happening], new: Sequence[Happening]) -> int:
    """How many happenings two histories have in common at the beginning.

    A record shares happenings with the one before it only from the first on without a gap: where the last of the
    shorter one is the same object in both, so are all before it.
    """
    shorter = min(len(old), len(new))
    if shorter and old[shorter - 1] is new[shorter - 1]:
        return shorter
    for place, (was, now) in enumerate(zip(old, new, strict=False)):
        if was is not now and was != now:
            return place
    return shorter


def _order(happening: Happening) -> tuple[datetime, str, int, str]:
    return happening.order
