"""Enters a scenario's people and rooms in the registers, where they are not there yet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session, select

from app.base.database import writing
from app.base.ids import new_id
from app.drill.department import Staff
from app.kit.tables import Respirator
from app.people.fit import NOT_RECORDED
from app.people.tables import FitTest, Immunity, Person
from app.rooms.tables import Room

CLEAR_PERCENT = 99.9
"""Share to clear in a room of which a file does not say it [%]: the stricter column of CDC 2003, table B.1."""

CONDITION = "measles"
"""What `immune=` of a `staff` line is about: the one condition that the files' cases ask for."""


def register(engine: Engine, people: Iterable[Staff], rooms: Iterable[Mapping[str, Any]]) -> None:
    """Adds people and rooms. A row that is there already stays as it is: a file never changes a register."""
    with writing(engine) as connection, Session(bind=connection) as session:
        for one in people:
            if session.get(Person, one.id) is None:
                session.add(_person(one))
                session.flush()
                session.add_all(_recorded(session, one))
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
        hood=one.facts.get("resp") == "hood",
        drill=None if drill is None else date.fromisoformat(drill),
        no_entry=one.facts.get("no_entry") is True,
    )


def _recorded(session: Session, one: Staff) -> list[FitTest | Immunity]:
    """Fit tests, their models made known, and immunity."""
    found: list[FitTest | Immunity] = []
    worn = str(one.facts.get("resp", "none"))
    tests = dict(one.facts.get("fit", {}))
    for model in dict.fromkeys((*tests, *((worn.removeprefix("tight:"),) if worn.startswith("tight:") else ()))):
        known = session.exec(select(Respirator).where(Respirator.model == model)).first()
        if known is None:
            known = Respirator(id=new_id(), model=model)
            session.add(known)
            session.flush()
        if model in tests:
            day = date.fromisoformat(tests[model])
            test = FitTest(
                id=new_id(), person_id=one.id, respirator_id=known.id, method=NOT_RECORDED, result="pass", tested_on=day
            )
            found.append(test)
    if (immune := one.facts.get("immune")) is not None:
        found.append(Immunity(id=new_id(), person_id=one.id, condition=CONDITION, state=str(immune)))
    return found


def _room(facts: Mapping[str, Any]) -> Room:
    return Room(
        id=facts["id"],
        name=facts["name"],
        ach=facts.get("ach"),
        clear=facts.get("clear", CLEAR_PERCENT),
        anteroom=facts.get("anteroom"),
        mixing=facts.get("mixing"),
    )
