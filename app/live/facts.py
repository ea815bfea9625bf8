"""What the registers say about an entry at the moment it arrives: stored and hashed with it.

The registers are kept in memory as facts and read again when one of them changes. The fold asks no register.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from sqlalchemy import Engine

from app.base.errors import Unknown
from app.journal import store as journal
from app.journal.entry import Tap
from app.people import store as people
from app.protocol.library import protocol_for
from app.rooms import store as rooms

_PERSON_FIELDS = ("p", "op", "checker", "subject", "lead", "owner", "from", "to", "by")


class Registers:
    """People and rooms as facts. `read` takes them over from the database."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.people: Mapping[str, Mapping[str, Any]] = {}
        self.rooms: Mapping[str, Mapping[str, Any]] = {}
        self._room_of: dict[str, str | None] = {}
        self.read()

    def read(self) -> None:
        """Takes over what the registers say now."""
        self.people = people.all_facts(self._engine)
        self.rooms = rooms.all_facts(self._engine)

    def case_made(self, case: str, room: str | None) -> None:
        """Remembers which room a case was opened for."""
        self._room_of[case] = room

    def facts(self, tap: Tap) -> dict[str, Any]:
        """Facts about the people that a tap names; with `case.open` also the room and the protocol's version."""
        named = {value for field in _PERSON_FIELDS if isinstance(value := tap.body.get(field), str)}
        if tap.kind == "role.assign":
            named |= {value for value in tap.body.values() if isinstance(value, str)}
        if tap.person:
            named.add(tap.person)
        facts: dict[str, Any] = {}
        if known := {p: dict(self.people[p]) for p in sorted(named) if p in self.people}:
            facts["people"] = known
        if tap.kind == "case.open":
            if room := self.rooms.get(self._room(tap.case) or ""):
                facts["room"] = dict(room)
            procedure, age = tap.body.get("procedure") or "intubation", tap.body.get("age")
            with suppress(Unknown):  # a procedure that no protocol covers is stored like any other
                protocol = protocol_for(str(procedure), "" if age is None else str(age))
                facts["protocol"] = {"id": protocol.id, "version": protocol.version}
        return facts

    def _room(self, case: str) -> str | None:
        if case not in self._room_of:
            self._room_of[case] = journal.room_of(self._engine, case)
        return self._room_of[case]
