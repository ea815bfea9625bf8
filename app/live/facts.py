"""What the registers say about an entry at the moment it arrives: stored and hashed with it.

The registers are kept in memory as facts and read again when one of them changes. The fold asks no register. Health
facts stay out of journals but for two words: whether a person is recorded immune to what this very case asks for, and
whether they may not enter at all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import datetime, timedelta
from threading import Lock
from typing import Any

from sqlalchemy import Engine

from app.base.errors import Unknown
from app.base.moments import moment_text
from app.base.time import utc_now
from app.journal import store as journal
from app.journal.entry import Tap
from app.live.used import Usage
from app.people import store as people
from app.protocol import store as protocol
from app.protocol.in_use import chosen
from app.protocol.pinned import facts_of
from app.rooms import store as rooms

Asked = Callable[[str], str | None]
"""Case -> what immunity it asks for (`no` when it asks for none); None while it is not opened."""
AROUND = timedelta(hours=24)
"""How far before and after its call a case knows when shifts change."""
_PERSON_FIELDS = frozenset({"p", "op", "checker", "subject", "lead", "owner", "from", "to", "by"})


class Registers:
    """People and rooms as facts. `read` takes them over from the database."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.people: Mapping[str, Mapping[str, Any]] = {}
        self.rooms: Mapping[str, Mapping[str, Any]] = {}
        self.organisms: Mapping[str, Mapping[str, Any]] = {}
        self.zone: str | None = None
        self.usage = Usage(engine)
        self._immunity: Mapping[str, Mapping[str, str]] = {}
        self._shift_changes: tuple[datetime, ...] = ()
        self._room_of: dict[str, str | None] = {}
        self._asked: dict[str, str | None] = {}
        self._folded: Asked = lambda case: None
        self._one_reads = Lock()
        self.read()

    def ask(self, folded: Asked, zone: str) -> None:
        """Who knows what immunity a case asks for, by its fold; and the hospital's zone, in which its days are."""
        self._folded, self.zone = folded, zone

    def read(self) -> bool:
        """Takes over what the registers say now. Whether live pages, which show protocols, may look otherwise by it."""
        with self._one_reads:  # of two readers the later one has the newer picture, and it counts
            self.people = people.all_facts(self._engine)
            self.rooms = rooms.all_facts(self._engine)
            self.organisms = {
                one.name.casefold(): {"name": one.name, "precaution": one.precaution, "entry": one.entry}
                for one in people.organisms(self._engine)
            }
            self._immunity = people.immunity(self._engine)
            self._shift_changes = people.shift_changes(self._engine, utc_now() - AROUND)
            return protocol.read(self._engine)

    def case_made(self, case: str, room: str | None) -> None:
        """Remembers which room a case was opened for."""
        self._room_of[case] = room

    def facts(self, tap: Tap) -> dict[str, Any]:
        """Facts about the people that a tap names; with `case.open` also room, organism, shifts and the protocol."""
        if tap.kind == "case.open":
            asked = tap.body.get("immune_needed")
            self._asked[tap.case] = "no" if asked is None else str(asked)
        named = {value for name, value in tap.body.items() if name in _PERSON_FIELDS and isinstance(value, str)}
        if tap.kind in ("role.assign", "tap.fix"):  # a correction may give a role, or a part in a tap, to somebody else
            named |= {value for value in tap.body.values() if isinstance(value, str)}
        facts: dict[str, Any] = {}
        # Who wrote it is no member of the crew: the fold's people stay as they are.
        if tap.person and tap.person in self.people:
            facts["by"] = {"id": tap.person, "name": self.people[tap.person]["name"]}
        if known := {p: self._person(p, tap.case) for p in sorted(named) if p in self.people}:
            facts["people"] = known
        if tap.kind == "case.open":
            room = dict(self.rooms.get(self._room(tap.case) or "", {}))
            if self.zone is not None:
                room["tz"] = self.zone
            if room:
                facts["room"] = room
            now = utc_now()
            if changes := [moment_text(one) for one in self._shift_changes if abs(one - now) <= AROUND]:
                facts["shift_changes"] = changes
            if organism := self.organisms.get(str(tap.body.get("pathogen") or "").casefold()):
                facts["organism"] = dict(organism)
            procedure, age = tap.body.get("procedure") or "intubation", tap.body.get("age")
            with suppress(Unknown):  # a procedure that no protocol covers is stored like any other
                facts["protocol"] = facts_of(chosen(str(procedure), "" if age is None else str(age)))
        return facts

    def _person(self, p: str, case: str) -> dict[str, Any]:
        """Facts of a person, with the answer to what the case asks for, also before its opening is folded."""
        recorded = self._immunity.get(p, {})
        asked = self._folded(case) or self._asked.get(case)
        answer = people.may_enter(recorded, asked or "yes")
        if asked is None and answer != "yes":  # a case whose opening has yet to arrive: only a yes to everything helps
            answer = None
        return {**self.people[p], **({} if answer is None else {"immune": answer})}

    def _room(self, case: str) -> str | None:
        if case not in self._room_of:
            self._room_of[case] = journal.room_of(self._engine, case)
        return self._room_of[case]
