"""All SQL about people."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from app.people.tables import Person


def people(engine: Engine) -> list[Person]:
    """Everybody who works here, by name."""
    with Session(engine) as session:
        return list(session.exec(select(Person).where(col(Person.active)).order_by(col(Person.name))).all())


def all_facts(engine: Engine) -> dict[str, dict[str, Any]]:
    """What an entry keeps of each person that it names; people who left included, for late entries."""
    with Session(engine) as session:
        return {person.id: facts(person) for person in session.exec(select(Person)).all()}


def facts(person: Person) -> dict[str, Any]:
    """What the rules may ask of a person. Unknown fields are left out."""
    said: dict[str, Any] = {
        "name": person.name,
        "initials": person.initials,
        "job": person.job,
        "resp": person.resp,
        "fit": json.loads(person.fit),
        "immune": person.immune,
    }
    if person.drill is not None:
        said["drill"] = person.drill.isoformat()
    return said


def add(engine: Engine, *added: Person) -> None:
    """New people; a known id is brought up to date."""
    with Session(engine) as session:
        for person in added:
            session.merge(person)
        session.commit()
