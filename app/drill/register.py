"""Enters a scenario's people and rooms in the registers, where they are not there yet."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session

from app.base.database import writing
from app.drill.department import Staff
from app.people.tables import Person
from app.rooms.tables import Room

CLEAR_PERCENT = 99.9
"""Share to clear in a room of which a file does not say it [%]: the stricter column of CDC 2003, table B.1."""


def register(engine: Engine, people: Iterable[Staff], rooms: Iterable[Mapping[str, Any]]) -> None:
    """Adds people and rooms. A row that is there already stays as it is: a file never changes a register."""
    with writing(engine) as connection, Session(bind=connection) as session:
        for one in people:
            if session.get(Person, one.id) is None:
                session.add(_person(one))
        for facts in rooms:
            if "id" in facts and session.get(Room, facts["id"]) is None:
                session.add(_room(facts))
        session.flush()
        session.commit()


def _person(one: Staff) -> Person:
    drill = one.facts.get("drill")
    return Person(
        id=one.id,
        name=one.name,
        initials=one.initials,
        job=str(one.facts.get("job", "")),
        resp=str(one.facts.get("resp", "none")),
        fit=json.dumps(one.facts.get("fit", {}), sort_keys=True),
        drill=None if drill is None else date.fromisoformat(drill),
        immune=str(one.facts.get("immune", "unknown")),
    )


def _room(facts: Mapping[str, Any]) -> Room:
    return Room(
        id=facts["id"],
        name=facts["name"],
        ach=facts.get("ach"),
        clear=facts.get("clear", CLEAR_PERCENT),
        anteroom=facts.get("anteroom"),
        mixing=facts.get("mixing"),
    )
