"""The fold: from a journal to the state of its case. Same entries, same state, whatever order they arrived in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from app.case.correction import CORRECTIONS, happenings
from app.case.folds.handlers import HANDLERS
from app.case.folds.protection import ROOM_DOOR
from app.case.happening import Happening, Mark
from app.case.state import EMPTY, Person, State, with_item
from app.case.vocabulary.protection import RoomReady
from app.journal.entry import Entry

__all__ = ["CORRECTIONS", "ROOM_DOOR", "Record", "apply", "fold", "marked"]


def apply(state: State, happening: Happening) -> State:
    """The state after one more happening, which must not lie before the ones already applied."""
    if not happening.stands or happening.body is None:
        return state
    state = _with_facts(state, happening.facts)
    state = HANDLERS[happening.kind](state, happening, happening.body)
    kept = (*state.by_kind.get(happening.kind, ()), happening)
    return replace(state, by_kind=with_item(state.by_kind, happening.kind, kept), last_at=happening.at)


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

    The common tap happens after all before it and corrects nothing: it costs one `apply`. Anything else folds anew.
    """

    case: str
    entries: tuple[Entry, ...] = ()
    history: tuple[Happening, ...] = ()
    state: State | None = None

    @classmethod
    def of(cls, case: str, entries: Iterable[Entry]) -> Record:
        kept = tuple(entries)
        history = marked(happenings(kept))
        state = State(case)
        for happening in history:
            state = apply(state, happening)
        return cls(case, kept, history, state)

    @property
    def now(self) -> State:
        return self.state or State(self.case)

    def with_entries(self, new: Sequence[Entry]) -> Record:
        """The record with entries that have arrived since."""
        simple = self.state is not None and all(
            entry.tap.kind not in CORRECTIONS and entry.tap.offset_ms is not None for entry in new
        )
        if not simple or self._waited_for(new) or self._touches_life(new):
            return Record.of(self.case, (*self.entries, *new))
        fresh = happenings(new)
        if self.history and fresh and fresh[0].order < self.history[-1].order:
            return Record.of(self.case, (*self.entries, *new))
        state = self.now
        for happening in fresh:
            state = apply(state, happening)
        return Record(self.case, (*self.entries, *new), (*self.history, *fresh), state)

    def _touches_life(self, new: Sequence[Entry]) -> bool:
        """Opening, closing and signing mark entries around them, and so do taps that come after an end."""
        ends = self.now.closed_at is not None or self.now.signed_at is not None
        return ends or any(entry.tap.kind in ("case.open", "case.close", "case.sign") for entry in new)

    def _waited_for(self, new: Sequence[Entry]) -> bool:
        """Whether a correction that came first, or a station without a clock, has waited for one of these."""
        waiting = {entry.tap.body.get("ref") for entry in self.entries if entry.tap.kind in CORRECTIONS}
        unclocked = {entry.tap.station for entry in self.entries if entry.tap.offset_ms is None}
        return any(entry.tap.id in waiting or entry.tap.station in unclocked for entry in new)
