"""What cases really used: respirators put on, kits and items taken into rooms. Read from the folds of recent cases.

Worked out once for each state of a case's journal, in a thread: pages of registers ask for it, no live page does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine

from app.case.fold import fold
from app.case.happening import Happening
from app.case.rules.ask import tight_model
from app.case.state import Person, State
from app.journal import store

CLEAN = frozenset({"store", "door", "clean"})
"""Places from which a thing is lost to the shelf once it has left them."""


@dataclass(frozen=True, slots=True)
class Worn:
    """A tight-fitting respirator that was put on: by whom, which model, when."""

    p: str
    model: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Took:
    """Something that left the shelf for a room: its code or words, how many, when."""

    item: str
    quantity: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Used:
    """What one case used. kits: the note of a staged tray (its name and seal), and when the team went in with it."""

    case: str
    ref: str
    worn: tuple[Worn, ...] = ()
    took: tuple[Took, ...] = ()
    kits: tuple[tuple[str, datetime], ...] = ()


def used(state: State, ref: str = "") -> Used:
    """What the fold of a case says. A tray that never went in was not used; what was handed in was."""
    entered = [h.at for h in state.all("room.in")]
    first = min(entered, default=None)
    took: list[Took] = []
    for h in state.all("item.move"):
        body: Any = h.body
        if body.from_ in CLEAN and body.to not in CLEAN:
            took.append(Took(body.item, 1 if body.quantity is None else body.quantity, h.at))
    for request in state.requests.values():
        if request.item and request.handed_in is not None and request.cancelled is None:
            took.append(Took(request.item, 1, request.handed_in))
    kits: list[tuple[str, datetime]] = []
    clean = [h for h in state.all("kit.staged") if _tray(h) == "clean"]
    if first is not None and clean:
        body = clean[-1].body
        took += [Took(code, 1, first) for code in body.has]
        if body.note:
            kits.append((body.note, max(first, clean[-1].at)))
    return Used(state.case, ref, _worn(state), tuple(took), tuple(kits))


def _tray(h: Happening) -> str:
    body: Any = h.body
    return str(body.tray)


def _worn(state: State) -> tuple[Worn, ...]:
    found = []
    for h in state.all("don.start"):
        body: Any = h.body
        worn = body.resp or (state.people.get(body.p) or Person(body.p)).facts.get("resp")
        if (model := tight_model(None if worn is None else str(worn))) is not None:
            found.append(Worn(body.p, model, h.at))
    return tuple(found)


class Usage:
    """Remembers what each case used, as long as its journal has not grown."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._known: dict[str, tuple[int, Used]] = {}

    def since(self, moment: datetime) -> list[Used]:
        """What the cases that were made since a moment used."""
        found = []
        for head in store.heads(self._engine):
            if head.created_at < moment:
                continue
            known = self._known.get(head.case)
            if known is None or known[0] != head.seq:
                state = fold(head.case, store.entries(self._engine, head.case))
                known = (head.seq, used(state, head.ref or ""))
                self._known[head.case] = known
            found.append(known[1])
        return found

    def kits(self, moment: datetime) -> Mapping[str, datetime]:
        """Kit's name -> when a case last took it. The name is what its note says before the comma."""
        found: dict[str, datetime] = {}
        for one in self.since(moment):
            for note, at in one.kits:
                name = note.rpartition(", seal ")[0] or note
                found[name] = max(at, found.get(name, at))
        return found
