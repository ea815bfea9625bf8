"""All SQL about signing in."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import Engine, func, or_
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from app.base.database import writing
from app.base.errors import Conflict, Unknown
from app.base.ids import new_id
from app.people.sign_in.locks import Failures, Limit, counted, left_s, taken_back
from app.people.sign_in.tables import DeskSession, PersonRight, RightChange, SignInFailure
from app.people.sign_in.values import Change, Member, Rights, SignedIn, Use
from app.people.tables import Person

Subject = tuple[str, Limit]


def hash_of(secret: str) -> str:
    """What is kept of a session's secret: 256 random bits need no slow hash."""
    return sha256(secret.encode()).hexdigest()


def _rights(row: PersonRight | DeskSession | None) -> Rights:
    return Rights() if row is None else Rights(Use(row.level) if row.level else None, row.editor, row.admin)


# who may


def has_administrator(engine: Engine) -> bool:
    """Whether somebody who still works here may administer. Before that the set-up page is open."""
    with Session(engine) as session:
        found = select(PersonRight).join(Person).where(col(PersonRight.admin), col(Person.active)).limit(1)
        return session.exec(found).first() is not None


def members(engine: Engine) -> list[Member]:
    """Everybody who works here, by name, with what they may do."""
    with Session(engine) as session:
        rows = session.exec(
            select(Person, PersonRight)
            .join(PersonRight, isouter=True)
            .where(col(Person.active))
            .order_by(col(Person.name), col(Person.id))
        ).all()
        return [_member(person, right) for person, right in rows]


def _member(person: Person, right: PersonRight | None) -> Member:
    has_pin = right is not None and right.pin_hash is not None
    return Member(person.id, person.name, person.job, _rights(right), has_pin, right is not None and right.must_change)


def pin_of(engine: Engine, person: str) -> tuple[Member, str | None] | None:
    """A person who works here and the hash of their PIN; None for anybody else."""
    with Session(engine) as session:
        known = session.get(Person, person)
        if known is None or not known.active:
            return None
        right = session.get(PersonRight, person)
        return _member(known, right), right.pin_hash if right is not None else None


def set_rights(
    engine: Engine, person: str, rights: Rights, *, now: datetime, by: str | None = None, how: str = ""
) -> None:
    """Gives and takes rights; sessions of theirs end, so that nothing goes on with rights of before.

    Raises Conflict when nobody would be left to administer, Unknown for somebody who is not in the register.
    """
    with writing(engine) as connection, Session(bind=connection) as session:
        if session.get(Person, person) is None:
            raise Unknown("Nobody of that name is in the register.", do="Add them to the register of people first.")
        row = session.get(PersonRight, person) or PersonRight(person_id=person)
        before = _rights(row)
        if before.admin and not rights.admin and not _another_administrator(session, person):
            raise Conflict("Nobody would be left to administer.", do="Give the right to somebody else first.")
        row.level, row.editor, row.admin = rights.level, rights.editor, rights.admin
        session.add(row)
        _keep(session, person, "rights", before, rights, now, by, how)
        _end_sessions(session, now, DeskSession.person_id == person)
        session.commit()


def _another_administrator(session: Session, person: str) -> bool:
    others = (
        select(PersonRight)
        .join(Person)
        .where(col(PersonRight.admin), col(Person.active), col(PersonRight.person_id) != person)
    )
    return session.exec(others.limit(1)).first() is not None


def set_pin(
    engine: Engine, person: str, pin_hash: str, *, first: bool, now: datetime, by: str | None = None, how: str = ""
) -> None:
    """Keeps a new PIN. A first one must be changed at its first use; it ends sessions and a lock of before."""
    with writing(engine) as connection, Session(bind=connection) as session:
        if session.get(Person, person) is None:
            raise Unknown("Nobody of that name is in the register.", do="Add them to the register of people first.")
        row = session.get(PersonRight, person) or PersonRight(person_id=person)
        row.pin_hash, row.must_change = pin_hash, first
        session.add(row)
        _keep(session, person, "first pin" if first else "own pin", _rights(row), _rights(row), now, by, how)
        if first:
            _end_sessions(session, now, DeskSession.person_id == person)
        if (failures := session.get(SignInFailure, f"person:{person}")) is not None:
            session.delete(failures)
        session.commit()


def renew_hash(engine: Engine, person: str, kept: str, fresh: str) -> None:
    """Another hash of the same PIN, unless the PIN was changed meanwhile. Nothing that anybody did, so no history."""
    with writing(engine) as connection, Session(bind=connection) as session:
        row = session.get(PersonRight, person)
        if row is not None and row.pin_hash == kept:
            row.pin_hash = fresh
            session.add(row)
        session.commit()


def _keep(
    session: Session, person: str, what: str, before: Rights, after: Rights, now: datetime, by: str | None, how: str
) -> None:
    kept = [json.dumps(rights.shape(), sort_keys=True) for rights in (before, after)]
    session.flush()
    session.add(
        RightChange(
            id=new_id(), person_id=person, at=now, what=what, by_person=by, how=how, before=kept[0], after=kept[1]
        )
    )


def history(engine: Engine, most: int = 200) -> list[Change]:
    """Changes of rights and PINs, the newest first."""
    doer = aliased(Person)
    with Session(engine) as session:
        rows = session.exec(
            select(RightChange, Person.name, doer.name)
            .join(Person, col(Person.id) == col(RightChange.person_id))
            .outerjoin(doer, col(doer.id) == col(RightChange.by_person))
            .order_by(col(RightChange.at).desc(), col(RightChange.id).desc())
            .limit(most)
        ).all()
        return [
            Change(row.at, name, row.what, by or row.how, json.loads(row.before), json.loads(row.after))
            for row, name, by in rows
        ]


# who is there


def begin(engine: Engine, person: str, station: str, now: datetime) -> str:
    """Signs a person in at a desk; gives the secret for the browser's cookie. Whoever was there before is out."""
    secret = secrets.token_urlsafe(32)
    with writing(engine) as connection, Session(bind=connection) as session:
        rights = _rights(session.get(PersonRight, person))
        _end_sessions(session, now, DeskSession.station_id == station)
        session.add(
            DeskSession(
                id_hash=hash_of(secret), person_id=person, station_id=station, begun_at=now, used_at=now,
                level=rights.level, editor=rights.editor, admin=rights.admin,
            )
        )  # fmt: skip
        session.commit()
    return secret


def signed_in(engine: Engine, secret: str, station: str, now: datetime, idle: timedelta) -> SignedIn | None:
    """Who a cookie's secret proves at this very desk, unless they have ended it or were idle for too long."""
    with Session(engine) as session:
        row = session.get(DeskSession, hash_of(secret))
        if row is None or row.station_id != station or row.ended_at is not None or now - row.used_at >= idle:
            return None
        person = session.get(Person, row.person_id)
        if person is None or not person.active:
            return None
        return SignedIn(person.id, person.name, _rights(row), row.id_hash, row.used_at)


def last_here(engine: Engine, station: str, most: int = 5) -> list[str]:
    """Ids of the people who were last signed in at a desk, the latest first."""
    with Session(engine) as session:
        latest = func.max(col(DeskSession.begun_at))
        found = (
            select(DeskSession.person_id)
            .where(col(DeskSession.station_id) == station)
            .group_by(col(DeskSession.person_id))
            .order_by(latest.desc())
            .limit(most)
        )
        return list(session.exec(found).all())


def used(engine: Engine, session_hash: str, now: datetime) -> None:
    """A sign of life."""
    with writing(engine) as connection, Session(bind=connection) as session:
        row = session.get(DeskSession, session_hash)
        if row is not None and row.ended_at is None and row.used_at < now:
            row.used_at = now
            session.add(row)
        session.commit()


def end(engine: Engine, session_hash: str, now: datetime) -> None:
    """Signs out."""
    with writing(engine) as connection, Session(bind=connection) as session:
        _end_sessions(session, now, DeskSession.id_hash == session_hash)
        session.commit()


def _end_sessions(session: Session, now: datetime, which: object) -> None:
    for row in session.exec(select(DeskSession).where(which, col(DeskSession.ended_at).is_(None))).all():  # type: ignore[arg-type]
        row.ended_at = now
        session.add(row)
    session.flush()


def was_there(engine: Engine, person: str, station: str, at: datetime, slack: timedelta) -> Rights | None:
    """What a person might do at a desk at a moment, by the session of that time. None: they were not signed in.

    A session that was only idle counts until the next one at that desk: the line may have been down meanwhile.
    """
    with Session(engine) as session:
        row = session.exec(
            select(DeskSession)
            .where(
                col(DeskSession.person_id) == person,
                col(DeskSession.station_id) == station,
                col(DeskSession.begun_at) <= at + slack,
                or_(col(DeskSession.ended_at).is_(None), col(DeskSession.ended_at) >= at - slack),
            )
            .order_by(col(DeskSession.begun_at).desc())
            .limit(1)
        ).first()
        return None if row is None else _rights(row)


# guessing


def count_try(engine: Engine, subjects: Sequence[Subject], now: datetime) -> tuple[str, int] | None:
    """Counts a try for each subject before its PIN is looked at. A subject that must wait: it and the seconds left."""
    try:
        return _count_try(engine, subjects, now)
    except IntegrityError:  # two first tries at the same moment, on PostgreSQL: the row is there now
        return _count_try(engine, subjects, now)


def _count_try(engine: Engine, subjects: Sequence[Subject], now: datetime) -> tuple[str, int] | None:
    with writing(engine) as connection, Session(bind=connection) as session:
        rows = {subject: session.get(SignInFailure, subject, with_for_update=True) for subject, _ in subjects}
        for subject, row in rows.items():
            if row is not None and (wait := left_s(_failures(row), now)):
                return subject, wait
        for subject, limit in subjects:
            held = counted(_failures(rows[subject]), limit, now)
            row = rows[subject] or SignInFailure(subject=subject, failed=0, last_at=now)
            row.failed, row.last_at, row.locked_until = held.failed, now, held.locked_until
            session.add(row)
        session.commit()
    return None


def take_back(engine: Engine, person: str, station: Subject) -> None:
    """The PIN was right: the person's count is gone, the station's is one less."""
    subject, limit = station
    with writing(engine) as connection, Session(bind=connection) as session:
        if (row := session.get(SignInFailure, person)) is not None:
            session.delete(row)
        if (row := session.get(SignInFailure, subject)) is not None:
            held = taken_back(_failures(row), limit)
            row.failed, row.locked_until = held.failed, held.locked_until
            session.add(row)
        session.commit()


def _failures(row: SignInFailure | None) -> Failures:
    return Failures() if row is None else Failures(row.failed, row.last_at, row.locked_until)
