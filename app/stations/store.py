"""All SQL about stations, and the secrets that prove who a station is."""

from __future__ import annotations

import hmac
import secrets
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from app.base.errors import NotPermitted
from app.base.ids import new_id
from app.stations import tables
from app.stations.values import KINDS, Pairing, Station


def _hash(secret: str) -> str:
    # 256 random bits need no slow hash: there is nothing to guess.
    return sha256(secret.encode()).hexdigest()


def pair(
    engine: Engine, *, kind: str, label: str, now: datetime, cases: tuple[str, ...] = (), language: str = "en"
) -> str:
    """A new station; gives its cookie value, which is shown this once. No cases: it serves all of them."""
    if kind not in KINDS:
        raise ValueError(f"no kind of station: {kind}")
    station_id, secret = new_id(), secrets.token_urlsafe(32)
    with Session(engine) as session:
        session.add(
            tables.Station(
                id=station_id,
                kind=kind,
                label=label,
                secret_hash=_hash(secret),
                language=language,
                all_cases=not cases,
                created_at=now,
            )
        )
        session.flush()
        for case in cases:
            session.add(tables.StationCase(station_id=station_id, case_id=case, paired_at=now))
        session.commit()
    return f"{station_id}.{secret}"


def authenticate(engine: Engine, cookie: str, kind: str) -> Station:
    """The station that a cookie proves. Raises NotPermitted when it proves none of that kind."""
    station_id, _, secret = cookie.partition(".")
    with Session(engine) as session:
        row = session.get(tables.Station, station_id)
        if (
            row is None
            or row.kind != kind
            or row.revoked_at is not None
            or not hmac.compare_digest(row.secret_hash, _hash(secret))
        ):
            raise NotPermitted(
                "This screen is not paired, or its pairing was ended.",
                holds="What it has not sent yet stays on it.",
                do="Pair it again at the desk.",
            )
        pairs = session.exec(
            select(tables.StationCase)
            .where(col(tables.StationCase.station_id) == station_id)
            .order_by(col(tables.StationCase.paired_at))
        ).all()
        return Station(
            row.id,
            row.kind,
            row.label,
            row.language,
            row.all_cases,
            tuple(Pairing(p.case_id, p.paired_at, p.ended_at) for p in pairs),
        )
