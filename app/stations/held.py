"""Taps that wait at the desk: made while their station was not paired to the case, or sent after its revoke.

They are kept as they were sent until a lead accepts or refuses each. The station keeps them too, and hears what became
of them when it sends them again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Engine, func, update
from sqlmodel import Session, col, select

from app.base.database import writing
from app.base.errors import Conflict, TooLarge
from app.stations import tables
from app.stations.values import Held

HELD_MOST = 500
"""Taps held for one station. A night's outbox holds fewer; a stolen tablet gets no further."""


def hold(engine: Engine, station_id: str, taps: Sequence[Mapping[str, object]], now: datetime) -> list[Held]:
    """Keeps taps (their JSON, with `id` and `case`) that are not kept yet; gives what became of each, in their order.

    A tap under a known id stays as it was first sent. Raises TooLarge when too many of a station's
    wait already, Conflict for the id of another station's tap.
    """
    with writing(engine) as connection, Session(bind=connection) as session:
        there = _rows(session, [str(tap["id"]) for tap in taps])
        waiting = session.execute(
            select(func.count()).where(
                col(tables.HeldTap.station_id) == station_id, col(tables.HeldTap.decision).is_(None)
            )
        ).scalar_one()
        for tap in taps:
            if (id_ := str(tap["id"])) in there:
                if there[id_].station_id != station_id:
                    raise Conflict("Another station's tap waits under this id.", do="Tap again.")
                continue
            if (waiting := waiting + 1) > HELD_MOST:
                raise TooLarge(
                    f"{HELD_MOST} taps of this station wait at the desk already.",
                    holds="This one stays on the station.",
                    do="Let a lead decide about those first.",
                )
            there[id_] = row = tables.HeldTap(
                id=id_,
                station_id=station_id,
                case_id=str(tap["case"]),
                tap=json.dumps(tap, separators=(",", ":")),
                held_at=now,
            )
            session.add(row)
        session.flush()
        return [_held(there[str(tap["id"])]) for tap in taps]


def _rows(session: Session, ids: Iterable[str]) -> dict[str, tables.HeldTap]:
    query = select(tables.HeldTap).where(col(tables.HeldTap.id).in_(list(ids)))
    return {row.id: row for row in session.exec(query)}


def _held(row: tables.HeldTap, label: str = "") -> Held:
    return Held(row.id, row.station_id, label, row.case_id, json.loads(row.tap), row.held_at, row.decision)


def decisions(engine: Engine, ids: Sequence[str]) -> dict[str, str | None]:
    """What became of taps that were ever held: None waits, `accepted` or `refused`. Others are left out."""
    with Session(engine) as session:
        return {id_: row.decision for id_, row in _rows(session, ids).items()}


def waiting(engine: Engine) -> list[Held]:
    """Every tap that waits, by station and in the order in which each made them."""
    with Session(engine) as session:
        rows = session.exec(
            select(tables.HeldTap, tables.Station.label)
            .join(tables.Station, col(tables.Station.id) == col(tables.HeldTap.station_id))
            .where(col(tables.HeldTap.decision).is_(None))
        ).all()
    found = [_held(row, label) for row, label in rows]
    return sorted(found, key=lambda one: (one.label, one.station, int(str(one.tap.get("counter", 0)))))


def count(engine: Engine) -> int:
    """How many taps wait."""
    with Session(engine) as session:
        return session.exec(select(func.count()).where(col(tables.HeldTap.decision).is_(None))).one()


def mark(engine: Engine) -> str:
    """Stands for which taps wait: another one as soon as one more does, or one less."""
    with Session(engine) as session:
        ids = session.exec(
            select(tables.HeldTap.id).where(col(tables.HeldTap.decision).is_(None)).order_by(col(tables.HeldTap.id))
        ).all()
    return sha256(" ".join(ids).encode()).hexdigest()[:12]


def decide(engine: Engine, ids: Sequence[str], decision: str, now: datetime, by: str | None) -> None:
    """Writes a lead's word beside taps that wait; those that were decided before stay as they were."""
    with writing(engine) as connection:
        connection.execute(
            update(tables.HeldTap)
            .where(col(tables.HeldTap.id).in_(list(ids)), col(tables.HeldTap.decision).is_(None))
            .values(decision=decision, decided_at=now, decided_by=by)
        )
