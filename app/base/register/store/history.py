"""What became of rows: one line for each change, whole before and after. Lines are only added."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, bindparam, func, insert, select, update

from app.base.errors import Unknown
from app.base.ids import new_id
from app.base.register.cells import from_json, to_json
from app.base.register.spec import Register, Row, Value
from app.base.register.store.reading import look
from app.base.register.tables import RegisterChange

_CHANGE = RegisterChange.__table__  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Change:
    """One line of a row's history. `before` and `after` are whole rows; None: it was not there."""

    id: str
    row_id: str
    version: int
    who: str
    at: datetime
    before: Row | None
    after: Row | None
    file_id: str | None = None
    undoes: str | None = None
    undone_by: str | None = None

    def altered(self) -> dict[str, tuple[Value, Value]]:
        """The fields that it changed: name -> before, after."""
        before, after = self.before or {}, self.after or {}
        return {
            name: (before.get(name), after.get(name))
            for name in dict.fromkeys((*before, *after))
            if before.get(name) != after.get(name)
        }


def note(
    register: Register,
    connection: Connection,
    pairs: Sequence[tuple[Row | None, Row | None]],
    *,
    who: str,
    now: datetime,
    file_id: str | None,
    undoes: Mapping[str, str],
) -> list[str]:
    """Adds a line for each (before, after); gives their ids. What they take back is marked so."""
    ids = [str((after or before or {})["id"]) for before, after in pairs]
    last = _versions(connection, register.name, ids)
    lines: list[dict[str, Any]] = [
        {
            "id": new_id(), "book": register.name, "row_id": row_id, "version": last.get(row_id, 0) + 1,
            "who": who, "at": now, "before": _text(before), "after": _text(after), "file_id": file_id,
            "undoes": undoes.get(row_id), "undone_by": None,
        }
        for row_id, (before, after) in zip(ids, pairs, strict=True)
    ]  # fmt: skip
    if lines:
        connection.execute(insert(_CHANGE), lines)
    if back := [{"old": line["undoes"], "by": line["id"]} for line in lines if line["undoes"]]:
        connection.execute(
            update(_CHANGE).where(_CHANGE.c.id == bindparam("old")).values(undone_by=bindparam("by")), back
        )
    return [str(line["id"]) for line in lines]


def version(register: Register, engine: Engine, row_id: str) -> int:
    """How often a row was changed: what a form carries, so that nobody overwrites what they have not seen."""
    with engine.connect() as connection:
        return version_in(connection, register.name, row_id)


def version_in(connection: Connection, register: str, row_id: str) -> int:
    """As `version`, in a transaction."""
    query = select(func.max(_CHANGE.c.version)).where(_CHANGE.c.book == register, _CHANGE.c.row_id == row_id)
    return int(connection.execute(query).scalar() or 0)


def _versions(connection: Connection, register: str, ids: Sequence[str]) -> dict[str, int]:
    if len(ids) == 1:
        return {ids[0]: version_in(connection, register, ids[0])}
    query = select(_CHANGE.c.row_id, func.max(_CHANGE.c.version)).where(_CHANGE.c.book == register)
    return {row_id: int(last) for row_id, last in connection.execute(query.group_by(_CHANGE.c.row_id))}


def _text(row: Row | None) -> str:
    if row is None:
        return ""
    return json.dumps({name: to_json(value) for name, value in row.items()}, ensure_ascii=False, sort_keys=True)


def _change(register: Register, found: RowMapping) -> Change:
    def row(text: str) -> Row | None:
        if not text:
            return None
        kept = json.loads(text)
        # A field that the register has gained since is as it was before it existed: nothing said.
        said = {field.name: from_json(field, kept.get(field.name, field.default)) for field in register.fields}
        return {"id": kept["id"], **said}

    told = {name: found[name] for name in ("id", "row_id", "version", "who", "at", "file_id", "undoes", "undone_by")}
    return Change(before=row(found["before"]), after=row(found["after"]), **told)


def change(register: Register, connection: Connection, change_id: str) -> Change:
    """One line. Raises Unknown."""
    query = select(_CHANGE).where(_CHANGE.c.book == register.name, _CHANGE.c.id == change_id)
    found = connection.execute(query).mappings().first()
    if found is None:
        raise Unknown("There is no such change.", do="Open the row again.")
    return _change(register, found)


def of_row(register: Register, engine: Engine, row_id: str) -> list[Change]:
    """What became of a row, newest first."""
    query = select(_CHANGE).where(_CHANGE.c.book == register.name, _CHANGE.c.row_id == row_id)
    with engine.connect() as connection:
        rows = connection.execute(query.order_by(_CHANGE.c.version.desc())).mappings().all()
    return [_change(register, found) for found in rows]


def of_file(register: Register, connection: Connection, file_id: str) -> list[Change]:
    """What an import changed."""
    query = select(_CHANGE).where(_CHANGE.c.book == register.name, _CHANGE.c.file_id == file_id)
    return [_change(register, found) for found in connection.execute(query).mappings()]


def gone(register: Register, engine: Engine, most: int = 20) -> list[Change]:
    """Removals that still hold, newest first: each can be taken back."""
    query = select(_CHANGE).where(_CHANGE.c.book == register.name, _CHANGE.c.after == "", _CHANGE.c.undone_by.is_(None))
    with engine.connect() as connection:
        rows = connection.execute(query.order_by(_CHANGE.c.at.desc()).limit(most)).mappings().all()
        return [_change(register, found) for found in rows if look(register, connection, found["row_id"]) is None]
