"""Rows as they stand: found, counted, looked up, named."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, Text, func, or_, select
from sqlalchemy import cast as sql_cast

from app.base.errors import Unknown
from app.base.register.spec import Names, Register, Row

_TEXTS = ("text", "choice", "words", "worn")


def row_of(register: Register, found: RowMapping) -> Row:
    """What the database gave, as a row."""
    return {"id": found["id"], **{name: found[name] for name in register.names}}


def find(register: Register, engine: Engine, q: str = "", refs: Names | None = None) -> list[Row]:
    """The rows that hold a text in one of their words, in the register's order; all of them without a text.

    refs  names of other registers, so that a row is found by what it names
    """
    with engine.connect() as connection:
        return [row_of(register, found) for found in connection.execute(_matching(register, q, refs)).mappings()]


def find_page(
    register: Register, engine: Engine, q: str, refs: Names | None, *, page: int, size: int
) -> tuple[list[Row], int, int]:
    """One page of what `find` gives, how many rows there are in all, and which page it is, from 1 to the last."""
    query = _matching(register, q, refs)
    with engine.connect() as connection:
        total = int(connection.execute(select(func.count()).select_from(query.order_by(None).subquery())).scalar_one())
        page = max(1, min(page, -(-total // size)))
        found = connection.execute(query.limit(size).offset((page - 1) * size)).mappings()
        return [row_of(register, one) for one in found], total, page


def _matching(register: Register, q: str, refs: Names | None) -> Select[Any]:
    table = register.sql
    query = select(table)
    if q := q.strip().lower():
        like = "%" + q.replace("!", "!!").replace("%", "!%").replace("_", "!_") + "%"
        hits = []
        for field in register.fields:
            if field.kind in _TEXTS:
                hits.append(func.lower(func.coalesce(table.c[field.name], "")).like(like, escape="!"))
            elif field.kind == "ref" and refs is not None:
                ids = [row_id for row_id, name in refs.of.get(field.ref, {}).items() if q in name.lower()]
                hits.append(table.c[field.name].in_(ids[:500]))
            elif field.kind in ("day", "whole"):
                hits.append(sql_cast(table.c[field.name], Text).like(like, escape="!"))
        query = query.where(or_(*hits))
    for name in (*register.order, "id"):
        column = table.c[name.removeprefix("-")]
        query = query.order_by(column.desc().nulls_last() if name.startswith("-") else column.asc().nulls_last())
    return query


def count(register: Register, engine: Engine) -> int:
    """How many rows there are."""
    with engine.connect() as connection:
        return int(connection.execute(select(func.count()).select_from(register.sql)).scalar_one())


def get(register: Register, engine: Engine, row_id: str) -> Row:
    """One row. Raises Unknown."""
    with engine.connect() as connection:
        return get_in(register, connection, row_id)


def get_in(register: Register, connection: Connection, row_id: str) -> Row:
    """One row, in a transaction. Raises Unknown."""
    if (row := look(register, connection, row_id)) is None:
        raise Unknown("There is no such row in this register.", do="Go back to its list.")
    return row


def look(register: Register, connection: Connection, row_id: str) -> Row | None:
    """One row, in a transaction; None when it is not there."""
    query = select(register.sql).where(register.sql.c.id == row_id)
    found = connection.execute(query).mappings().first()
    return None if found is None else row_of(register, found)


def names(engine: Engine, registers: Iterable[Register]) -> Names:
    """What the rows of some registers are called: the fields of their keys, with names in place of ids."""
    done: dict[str, dict[str, str]] = {}
    with engine.connect() as connection:
        for register in registers:
            columns = [register.sql.c.id, *(register.sql.c[name] for name in register.key)]
            found: dict[str, str] = {}
            for row_id, *parts in connection.execute(select(*columns)):
                said = [
                    done.get(register.field(name).ref, {}).get(str(part), str(part)) if part is not None else ""
                    for name, part in zip(register.key, parts, strict=True)
                ]
                found[row_id] = " · ".join(one for one in said if one)
            done[register.name] = found
    return Names.gathered(done)
