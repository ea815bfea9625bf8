"""All SQL about people, beyond what every register has."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from app.base import news
from app.kit.tables import Respirator
from app.people.fit import FitResult, last_passed, reading
from app.people.tables import FitTest, Immunity, Organism, Person, Practice, Shift

_DOES_NOT_NEED = frozenset({"no", "none", "na", ""})
"""What a case says of the immunity that it needs when it needs none, as R07 reads it."""


def people(engine: Engine) -> list[Person]:
    """Everybody who works here, by name."""
    with Session(engine) as session:
        return list(session.exec(select(Person).where(col(Person.active)).order_by(col(Person.name))).all())


def fit_tests(engine: Engine) -> list[FitResult]:
    """Every fit test, read both ways, oldest first."""
    query = select(FitTest, Respirator).join(Respirator, col(Respirator.id) == col(FitTest.respirator_id))
    with Session(engine) as session:
        return [
            FitResult(
                test.person_id, model.model, test.size or "", test.tested_on,
                reading(test.method, test.factors, test.result, model.face),
            )
            for test, model in session.exec(query.order_by(col(FitTest.tested_on))).all()
        ]  # fmt: skip


def fit_sizes(engine: Engine) -> dict[tuple[str, str], str]:
    """(person, model) -> the size of their newest test in it, passed or not; no test is read for that."""
    query = select(FitTest.person_id, Respirator.model, FitTest.size).join(
        Respirator, col(Respirator.id) == col(FitTest.respirator_id)
    )
    with Session(engine) as session:
        found = session.exec(query.order_by(col(FitTest.tested_on))).all()
    return {(person, model): size or "" for person, model, size in found}


def all_facts(engine: Engine) -> dict[str, dict[str, Any]]:
    """What an entry keeps of each person that it names; people who left included, for late entries.

    Without health facts but for the bare flag that somebody may not enter at all; whether they may enter for this very
    case is asked of `immunity` with what it needs.
    """
    passed = last_passed(fit_tests(engine), practice(engine).fit_reading)
    with Session(engine) as session:
        return {person.id: facts(person, passed.get(person.id, {})) for person in session.exec(select(Person)).all()}


def facts(person: Person, passed: Mapping[str, FitResult]) -> dict[str, Any]:
    """What the rules may ask of a person. Unknown fields are left out.

    passed  model -> the fit test that counts
    """
    said: dict[str, Any] = {
        "name": person.name,
        "initials": person.initials,
        "job": person.job,
        "resp": person.resp,
        "fit": {model: test.on.isoformat() for model, test in sorted(passed.items())},
    }
    if person.drill is not None:
        said["drill"] = person.drill.isoformat()
    if person.no_entry:
        said["no_entry"] = True
    return said


def immunity(engine: Engine) -> dict[str, dict[str, str]]:
    """Person -> condition -> yes, no or unknown. Health facts: never handed on as they are."""
    found: dict[str, dict[str, str]] = {}
    with Session(engine) as session:
        for row in session.exec(select(Immunity)).all():
            found.setdefault(row.person_id, {})[row.condition.casefold()] = row.state
    return found


def may_enter(recorded: Mapping[str, str], needed: str | None) -> str | None:
    """`yes`, `no` or `unknown` for what a case needs, without naming it; None when it needs nothing.

    A case that says only that immunity is needed, not to what, has a yes from those who have one for everything.

    >>> may_enter({"measles": "yes"}, "Measles"), may_enter({}, "measles"), may_enter({"measles": "yes"}, None)
    ('yes', 'unknown', None)
    """
    asked = (needed or "").strip().casefold()
    if asked in _DOES_NOT_NEED:
        return None
    if asked != "yes":
        return recorded.get(asked, "unknown")
    states = set(recorded.values())
    return "no" if "no" in states else "yes" if states == {"yes"} else "unknown"


def practice(engine: Engine) -> Practice:
    """The department's limits; the defaults where it has set none."""
    with Session(engine) as session:
        return session.exec(select(Practice)).first() or Practice(id="department", name="")


def organisms(engine: Engine) -> list[Organism]:
    """Organisms in use, by name."""
    with Session(engine) as session:
        return list(session.exec(select(Organism).where(col(Organism.active)).order_by(col(Organism.name))).all())


def shift_at(engine: Engine, now: datetime) -> Shift | None:
    """The shift that is on now; of several the one that began last."""
    query = select(Shift).where(col(Shift.starts_at) <= now, col(Shift.ends_at) > now)
    with Session(engine) as session:
        return session.exec(query.order_by(col(Shift.starts_at).desc())).first()


def shift_changes(engine: Engine, since: datetime) -> tuple[datetime, ...]:
    """When shifts begin and end from a moment on, in order."""
    query = select(Shift.starts_at, Shift.ends_at).where(col(Shift.ends_at) >= since)
    with Session(engine) as session:
        return tuple(sorted({moment for shift in session.exec(query).all() for moment in shift if moment >= since}))


def add(engine: Engine, *added: Person) -> None:
    """New people; a known id is brought up to date. For set-ups: what people change goes through the register."""
    with Session(engine) as session:
        for person in added:
            session.merge(person)
        news.tell(session.connection())
        session.commit()
