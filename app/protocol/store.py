"""All SQL about the department's own protocols: imported as a file, checked, approved by a second person, withdrawn."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Engine, RowMapping, insert, select, update

from app.base import news
from app.base.database import writing
from app.base.errors import Conflict, NotPermitted, NotValid, Unknown
from app.base.ids import new_id
from app.protocol import in_use
from app.protocol.check import check
from app.protocol.library import protocols, shared
from app.protocol.positions import Mistake
from app.protocol.read import digest, from_plain, plain
from app.protocol.tables import ProtocolVersion

_TABLE = ProtocolVersion.__table__  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Version:
    """One stored version, as pages list it."""

    id: str
    protocol_id: str
    version: int
    title: str
    digest: str
    imported_by: str
    imported_at: datetime
    approved_by: str | None
    approved_at: datetime | None
    withdrawn_by: str | None
    withdrawn_at: datetime | None


_TOLD = tuple(Version.__dataclass_fields__)


def versions(engine: Engine) -> list[Version]:
    """Every stored version, newest of each protocol first."""
    query = select(*(_TABLE.c[name] for name in _TOLD)).order_by(_TABLE.c.protocol_id, _TABLE.c.version.desc())
    with engine.connect() as connection:
        return [_version(row) for row in connection.execute(query).mappings()]


def _version(row: RowMapping) -> Version:
    return Version(**{name: row[name] for name in _TOLD})


def take_in(engine: Engine, text: str, file: str, *, who: str, now: datetime) -> tuple[str | None, tuple[Mistake, ...]]:
    """Checks a file and stores it as a version that waits for approval; gives its id, or every mistake.

    Raises Conflict for a version that is there already, NotValid for one that is not newer than what is in use
    """
    protocol, mistakes = check(text, file, shared())
    if protocol is None:
        return None, mistakes
    with writing(engine) as connection:
        there = _newest(connection, protocol.id)
        if protocol.version <= there:
            raise Conflict(
                f"Version {protocol.version} of {protocol.id} is not newer than version {there}, which is there.",
                holds="A stored version is never changed.",
                do=f"Write `version: {there + 1}` in the file.",
            )
        version_id = new_id()
        told = {
            "id": version_id, "protocol_id": protocol.id, "version": protocol.version, "title": protocol.title,
            "text": text, "plain": json.dumps(plain(protocol), ensure_ascii=False), "digest": digest(protocol),
            "imported_by": who, "imported_at": now,
        }  # fmt: skip
        connection.execute(insert(_TABLE), [told])
    return version_id, ()


def _newest(connection: Connection, protocol_id: str) -> int:
    query = select(_TABLE.c.version).where(_TABLE.c.protocol_id == protocol_id)
    stored = [int(version) for version in connection.execute(query).scalars()]
    built_in = [one.version for one in protocols() if one.id == protocol_id]
    return max([0, *stored, *built_in])


def approve(engine: Engine, version_id: str, *, who: str, now: datetime) -> None:
    """Puts a version into use for cases opened from now on. Raises NotPermitted for whoever imported it."""
    with writing(engine) as connection:
        found = _get(connection, version_id)
        if found.approved_at is not None:
            raise Conflict("That version is approved already.", holds="Nothing was changed.")
        if who in (found.imported_by, "desk"):
            raise NotPermitted(
                "A protocol is approved by a second person, not by the one who took it in.",
                holds="It waits for approval.",
                do="Ask somebody else who may edit the registers to sign in and approve it.",
            )
        _mark(connection, version_id, approved_by=who, approved_at=now)


def withdraw(engine: Engine, version_id: str, *, who: str, now: datetime) -> None:
    """Takes a version out of use for new cases; cases that are pinned to it keep it."""
    with writing(engine) as connection:
        found = _get(connection, version_id)
        if found.withdrawn_at is not None:
            raise Conflict("That version is withdrawn already.", holds="Nothing was changed.")
        _mark(connection, version_id, withdrawn_by=who, withdrawn_at=now)


def _mark(connection: Connection, version_id: str, **told: object) -> None:
    connection.execute(update(_TABLE).where(_TABLE.c.id == version_id).values(**told))
    news.tell(connection)


def _get(connection: Connection, version_id: str) -> Version:
    row = connection.execute(select(*(_TABLE.c[name] for name in _TOLD)).where(_TABLE.c.id == version_id))
    if (found := row.mappings().first()) is None:
        raise Unknown("There is no such version of a protocol.", do="Go back to the list of protocols.")
    return _version(found)


def text_of(engine: Engine, version_id: str) -> str:
    """The file as it was taken in. Raises Unknown."""
    with engine.connect() as connection:
        found = connection.execute(select(_TABLE.c.text).where(_TABLE.c.id == version_id)).scalar()
    if found is None:
        raise Unknown("There is no such version of a protocol.", do="Go back to the list of protocols.")
    return str(found)


def read(engine: Engine) -> bool:
    """Takes over what is approved: from now on new cases of this process are pinned to it. Whether it is other now."""
    query = select(_TABLE.c.plain, _TABLE.c.withdrawn_at).where(_TABLE.c.approved_at.is_not(None))
    with engine.connect() as connection:
        rows = connection.execute(query).all()
    try:
        known = [(from_plain(json.loads(text)), gone) for text, gone in rows]
    except NotValid:  # stored by a version of Doorside whose protocols this one cannot read
        known = []
    return in_use.take_over([one for one, _ in known], [one for one, gone in known if gone is None])
