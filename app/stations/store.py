"""All SQL about stations: pairing, the secrets that prove who a station is, what each serves, and its reports."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable, Mapping
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Engine, delete, update
from sqlmodel import Session, col, select

from app.base.database import writing
from app.base.errors import NotPermitted, Revoked, Unknown
from app.base.ids import new_id
from app.stations import tables
from app.stations.values import ALL_CASES, KINDS, Listed, Pairing, Report, Station


def _hash(secret: str) -> str:
    # 256 random bits need no slow hash: there is nothing to guess.
    return sha256(secret.encode()).hexdigest()


def pair(
    engine: Engine,
    *,
    kind: str,
    label: str,
    now: datetime,
    cases: tuple[str, ...] = (),
    language: str = "en",
    room: str | None = None,
    renews: str | None = None,
) -> str:
    """Pairs a screen; gives its cookie value, which is shown this once.

    Without a room and without cases it serves all of them. With a room, `cases` are those that are open there now.
    `renews` is the id of a station that the same browser has been: it goes on under its id with a new secret, so what
    it has not sent yet still counts as its own; whatever it was paired to before ends now.
    """
    if kind not in KINDS:
        raise ValueError(f"no kind of station: {kind}")
    station_id, secret = renews or new_id(), secrets.token_urlsafe(32)
    with writing(engine) as connection, Session(bind=connection) as session:
        row = session.get(tables.Station, station_id) if renews else None
        if row is None:
            row = tables.Station(id=station_id, kind=kind, label=label, secret_hash="", created_at=now)
        row.label, row.language, row.room_id = label, language, room
        row.secret_hash, row.revoked_at, row.last_seen_at = _hash(secret), None, now
        row.revision = (row.revision or 0) + 1
        session.add(row)
        session.flush()
        _end(session, now, station_id=station_id)
        for case in cases or (() if room else (ALL_CASES,)):
            session.merge(tables.StationCase(station_id=station_id, case_id=case, paired_at=now, ended_at=None))
        session.flush()
    return f"{station_id}.{secret}"


def _end(session: Session, now: datetime, *, station_id: str) -> None:
    session.execute(
        update(tables.StationCase)
        .where(col(tables.StationCase.station_id) == station_id, col(tables.StationCase.ended_at).is_(None))
        .values(ended_at=now)
    )


def known(engine: Engine, cookie: str, kind: str) -> Station:
    """The station that a cookie proves, also a revoked one. Raises NotPermitted when it proves none of that kind."""
    station_id, _, secret = cookie.partition(".")
    with Session(engine) as session:
        row = session.get(tables.Station, station_id)
        if row is None or row.kind != kind or not hmac.compare_digest(row.secret_hash, _hash(secret)):
            raise NotPermitted(
                "This screen is not paired, or its pairing was ended.",
                holds="What it has not sent yet stays on it.",
                do="Pair it again at the desk.",
            )
        return _station(row, _pairs(session, [row.id]).get(row.id, ()))


def authenticate(engine: Engine, cookie: str, kind: str) -> Station:
    """The station that a cookie proves. Raises NotPermitted when it proves none of that kind, Revoked for one ended."""
    station = known(engine, cookie, kind)
    if station.revoked:
        raise revoked()
    return station


def revoked() -> Revoked:
    """The refusal of a station whose pairing was ended."""
    return Revoked(
        "The pairing of this screen was ended at the desk: it is not paired any more.",
        holds="What it has not sent yet stays on it.",
        do="Pair it again at the desk.",
    )


def _pairs(session: Session, stations: Iterable[str]) -> Mapping[str, tuple[Pairing, ...]]:
    found: dict[str, tuple[Pairing, ...]] = {}
    query = (
        select(tables.StationCase)
        .where(col(tables.StationCase.station_id).in_(list(stations)))
        .order_by(col(tables.StationCase.paired_at))
    )
    for row in session.exec(query):
        found[row.station_id] = (*found.get(row.station_id, ()), Pairing(row.case_id, row.paired_at, row.ended_at))
    return found


def _station(row: tables.Station, pairs: tuple[Pairing, ...]) -> Station:
    return Station(row.id, row.kind, row.label, row.language, pairs, row.room_id, row.revoked_at is not None)


def listed(engine: Engine) -> list[Listed]:
    """All stations, those in use first, then by kind and label; each with its newest stored report."""
    with Session(engine) as session:
        rows = session.exec(select(tables.Station)).all()
        pairs = _pairs(session, [row.id for row in rows])
        said = {row.station_id: _report(row) for row in session.exec(select(tables.StationReport))}
        found = [
            Listed(_station(row, pairs.get(row.id, ())), row.created_at, row.revoked_at, said.get(row.id))
            for row in rows
        ]
    return sorted(found, key=lambda one: (one.station.revoked, KINDS.index(one.station.kind), one.station.label))


def revoke(engine: Engine, station_id: str, now: datetime) -> None:
    """Ends a station's pairing: its secret opens nothing from now on. Raises Unknown for no such station."""
    with writing(engine) as connection, Session(bind=connection) as session:
        row = session.get(tables.Station, station_id)
        if row is None:
            raise Unknown("There is no such station.", do="Look at the list again.")
        if row.revoked_at is None:
            row.revoked_at = now
            row.revision += 1
            session.add(row)
            session.flush()
            _end(session, now, station_id=station_id)
        session.flush()


def case_made(engine: Engine, case: str, room: str | None, now: datetime) -> tuple[str, ...]:
    """Pairs a case that was made (or opened again) in a room with the stations of that room; gives their ids."""
    if room is None:
        return ()
    with writing(engine) as connection, Session(bind=connection) as session:
        rows = session.exec(
            select(tables.Station).where(col(tables.Station.room_id) == room, col(tables.Station.revoked_at).is_(None))
        ).all()
        pairs = _pairs(session, [row.id for row in rows])
        fresh = [row for row in rows if not _station(row, pairs.get(row.id, ())).serves(case)]
        for row in fresh:
            session.merge(tables.StationCase(station_id=row.id, case_id=case, paired_at=now, ended_at=None))
            row.revision += 1
        session.flush()
        return tuple(row.id for row in fresh)


def case_ended(engine: Engine, case: str, now: datetime) -> tuple[str, ...]:
    """Ends the pairings that a room brought to a case which is over; gives the ids of those stations."""
    with writing(engine) as connection, Session(bind=connection) as session:
        rows = session.exec(
            select(tables.Station)
            .join(tables.StationCase, col(tables.StationCase.station_id) == col(tables.Station.id))
            .where(
                col(tables.StationCase.case_id) == case,
                col(tables.StationCase.ended_at).is_(None),
                col(tables.Station.room_id).is_not(None),
            )
        ).all()
        for row in rows:
            session.execute(
                update(tables.StationCase)
                .where(
                    col(tables.StationCase.station_id) == row.id,
                    col(tables.StationCase.case_id) == case,
                    col(tables.StationCase.ended_at).is_(None),
                )
                .values(ended_at=now)
            )
            row.revision += 1
        session.flush()
        return tuple(row.id for row in rows)


def revisions(engine: Engine) -> dict[str, int]:
    """Every station's revision: one that has risen was paired, revoked or given a case, perhaps by another process."""
    with Session(engine) as session:
        return dict(session.exec(select(tables.Station.id, tables.Station.revision)).all())


def of_id(engine: Engine, station_id: str) -> Station | None:
    """A station by its id, also a revoked one."""
    with Session(engine) as session:
        row = session.get(tables.Station, station_id)
        return None if row is None else _station(row, _pairs(session, [row.id]).get(row.id, ()))


def report(engine: Engine, station_id: str, said: Report) -> None:
    """Keeps what a station last said of itself."""
    with writing(engine) as connection, Session(bind=connection) as session:
        session.execute(update(tables.Station).where(col(tables.Station.id) == station_id).values(last_seen_at=said.at))
        session.execute(delete(tables.StationReport).where(col(tables.StationReport.station_id) == station_id))
        session.add(
            tables.StationReport(
                station_id=station_id,
                at=said.at,
                battery_percent=said.battery_percent,
                charging=said.charging,
                offset_ms=said.offset_ms,
                error_ms=said.error_ms,
                waiting=said.waiting,
                refused=said.refused,
                version=said.version,
            )
        )
        session.flush()


def _report(row: tables.StationReport) -> Report:
    return Report(
        row.at, row.battery_percent, row.charging, row.offset_ms, row.error_ms, row.waiting, row.refused, row.version
    )
