"""All SQL of every register: rows, their history, undo. A change and its history are one transaction."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    Connection,
    Engine,
    RowMapping,
    Select,
    Text,
    bindparam,
    delete,
    func,
    insert,
    or_,
    select,
    update,
)
from sqlalchemy import cast as sql_cast
from sqlalchemy.exc import IntegrityError

from app.base.database import writing
from app.base.errors import Conflict, DoorsideError, NotValid, Unknown
from app.base.ids import new_id
from app.base.messages import N_
from app.base.register.cells import from_json, to_json
from app.base.register.spec import Names, Problem, Register, Row, Value
from app.base.register.tables import RegisterChange

_CHANGE = RegisterChange.__table__  # type: ignore[attr-defined]
_TEXTS = ("text", "choice", "words", "worn")


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


class Wrong(NotValid):
    """A row that cannot be kept. `problems` says why, field by field."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("The row has mistakes.", holds="Nothing was changed.", do="Mend the fields that are marked.")
        self.problems = tuple(problems)


def _row(register: Register, found: RowMapping) -> Row:
    return {"id": found["id"], **{name: found[name] for name in register.names}}


def find(register: Register, engine: Engine, q: str = "", refs: Names | None = None) -> list[Row]:
    """The rows that hold a text in one of their words, in the register's order; all of them without a text.

    refs  names of other registers, so that a row is found by what it names
    """
    with engine.connect() as connection:
        return [_row(register, found) for found in connection.execute(_matching(register, q, refs)).mappings()]


def find_page(
    register: Register, engine: Engine, q: str, refs: Names | None, *, page: int, size: int
) -> tuple[list[Row], int, int]:
    """One page of what `find` gives, how many rows there are in all, and which page it is, from 1 to the last."""
    query = _matching(register, q, refs)
    with engine.connect() as connection:
        total = int(connection.execute(select(func.count()).select_from(query.order_by(None).subquery())).scalar_one())
        page = max(1, min(page, -(-total // size)))
        found = connection.execute(query.limit(size).offset((page - 1) * size)).mappings()
        return [_row(register, one) for one in found], total, page


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
        return _get(register, connection, row_id)


def _get(register: Register, connection: Connection, row_id: str) -> Row:
    if (row := _look(register, connection, row_id)) is None:
        raise Unknown("There is no such row in this register.", do="Go back to its list.")
    return row


def _look(register: Register, connection: Connection, row_id: str) -> Row | None:
    query = select(register.sql).where(register.sql.c.id == row_id)
    found = connection.execute(query).mappings().first()
    return None if found is None else _row(register, found)


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


def version(register: Register, engine: Engine, row_id: str) -> int:
    """How often a row was changed: what a form carries, so that nobody overwrites what they have not seen."""
    with engine.connect() as connection:
        return _version(connection, register.name, row_id)


def _version(connection: Connection, register: str, row_id: str) -> int:
    query = select(func.max(_CHANGE.c.version)).where(_CHANGE.c.book == register, _CHANGE.c.row_id == row_id)
    return int(connection.execute(query).scalar() or 0)


def check(register: Register, row: Row, refs: Names) -> list[Problem]:
    """What is wrong with a whole row: required fields, and what fields must agree on."""
    problems = [
        Problem(N_("This is missing."), column=field.name)
        for field in register.fields
        if field.required and row.get(field.name) in (None, "")
    ]
    return problems or list(register.check(row, refs) if register.check else ())


def save(
    register: Register,
    engine: Engine,
    row_id: str | None,
    given: Mapping[str, Value],
    *,
    who: str,
    now: datetime,
    refs: Names,
    seen: int | None = None,
) -> str:
    """Makes a row (`row_id` None) or changes what is given of one; gives its id. Nothing is written for no change.

    seen  the version that was looked at; another one now raises Conflict
    Raises Wrong with every problem, Unknown for a row that is not there
    """
    with writing(engine) as connection:
        before = None if row_id is None else _get(register, connection, row_id)
        if row_id is not None and seen is not None and _version(connection, register.name, row_id) != seen:
            raise Conflict(
                "Somebody else changed this row meanwhile.",
                holds="Your change was not kept.",
                do="Open the row again and change it there.",
            )
        row: Row = {**(before or {"id": row_id or new_id(), **register.empty()}), **given}
        if problems := [*check(register, row, refs), *_taken(register, connection, row)]:
            raise Wrong(problems)
        put(register, connection, [(before, row)], who=who, now=now)
        return str(row["id"])


def _taken(register: Register, connection: Connection, row: Row) -> list[Problem]:
    """Whether another row has the same key."""
    table = register.sql
    query = select(table.c.id, *(table.c[name] for name in register.key)).where(table.c.id != row["id"])
    for name in register.key:
        if isinstance(value := row.get(name), str):
            query = query.where(func.lower(table.c[name]) == value.lower())
        else:
            query = query.where(table.c[name] == value)
    if connection.execute(query.limit(1)).first() is None:
        return []
    return [Problem(N_("There is such a row already."), column=register.key[0])]


def remove(register: Register, engine: Engine, row_id: str, *, who: str, now: datetime) -> None:
    """Takes a row out; its history stays. Raises NotValid where rows are only set aside, or others name it."""
    if register.keeps:
        raise NotValid("Rows of this register are set aside, not removed.", do="Say that it is not in use any more.")
    with writing(engine) as connection:
        put(register, connection, [(_get(register, connection, row_id), None)], who=who, now=now)


def put(
    register: Register,
    connection: Connection,
    pairs: Sequence[tuple[Row | None, Row | None]],
    *,
    who: str,
    now: datetime,
    file_id: str | None = None,
    undoes: Mapping[str, str] | None = None,
) -> list[str]:
    """Writes rows as they are to be, each with its line of history; gives the ids of those lines.

    pairs   (before, after) a row; None: not there. Pairs that are alike are left out
    undoes  row id -> the change that is taken back
    Raises  NotValid when rows of other registers name one that would go
    """
    table = register.sql
    pairs = [(before, after) for before, after in pairs if before != after]
    ids = [str((after or before or {})["id"]) for before, after in pairs]
    versions = _versions(connection, register.name, ids)
    made = [after for before, after in pairs if before is None and after is not None]
    gone = [before["id"] for before, after in pairs if after is None and before is not None]
    try:
        if made:
            connection.execute(insert(table), made)
        if kept := [after for before, after in pairs if before is not None and after is not None]:
            to = {name: bindparam(f"to_{name}", type_=table.c[name].type) for name in register.names}
            one = update(table).where(table.c.id == bindparam("to_id")).values(to)
            connection.execute(one, [{f"to_{name}": value for name, value in row.items()} for row in kept])
        if gone:
            connection.execute(delete(table).where(table.c.id == bindparam("gone")), [{"gone": one} for one in gone])
        lines: list[dict[str, Any]] = [
            {
                "id": new_id(), "book": register.name, "row_id": row_id, "version": versions.get(row_id, 0) + 1,
                "who": who, "at": now, "before": _text(before), "after": _text(after), "file_id": file_id,
                "undoes": (undoes or {}).get(row_id), "undone_by": None,
            }
            for row_id, (before, after) in zip(ids, pairs, strict=True)
        ]  # fmt: skip
        if lines:
            connection.execute(insert(_CHANGE), lines)
    except IntegrityError as error:
        raise NotValid(
            "Other rows name this one, or somebody changed it at the same moment.",
            holds="Nothing was changed.",
            do="Take those rows out first, or try again.",
        ) from error
    if back := [{"old": line["undoes"], "by": line["id"]} for line in lines if line["undoes"]]:
        connection.execute(
            update(_CHANGE).where(_CHANGE.c.id == bindparam("old")).values(undone_by=bindparam("by")), back
        )
    return [str(line["id"]) for line in lines]


def _versions(connection: Connection, register: str, ids: Sequence[str]) -> dict[str, int]:
    if len(ids) == 1:
        return {ids[0]: _version(connection, register, ids[0])}
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


def history(register: Register, engine: Engine, row_id: str) -> list[Change]:
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
        return [_change(register, found) for found in rows if _look(register, connection, found["row_id"]) is None]


def undo(register: Register, engine: Engine, change_id: str, *, who: str, now: datetime) -> str:
    """Takes one change back: what it altered becomes as it was, what was altered elsewhere stays. Gives the row's id.

    Raises Unknown for no such change, Conflict when it is taken back already or altered again since
    """
    with writing(engine) as connection:
        query = select(_CHANGE).where(_CHANGE.c.book == register.name, _CHANGE.c.id == change_id)
        found = connection.execute(query).mappings().first()
        if found is None:
            raise Unknown("There is no such change.", do="Open the row again.")
        change = _change(register, found)
        pair = undone(change, _look(register, connection, change.row_id))
        put(register, connection, [pair], who=who, now=now, undoes={change.row_id: change.id})
        return change.row_id


def undone(change: Change, now: Row | None) -> tuple[Row | None, Row | None]:
    """A row as it is and as it would be without a change. Raises Conflict."""
    again: DoorsideError = Conflict(
        "That was changed again since.", holds="Nothing was changed.", do="Take back the later change first."
    )
    if change.undone_by is not None:
        raise Conflict("That is taken back already.", holds="Nothing was changed.")
    if (now is None) != (change.after is None):
        raise again
    if change.before is None:
        if now != change.after:
            raise again
        return now, None
    if now is None or change.after is None:
        return now, change.before
    back = dict(now)
    for name, (before, after) in change.altered().items():
        if now.get(name) != after:
            raise again
        back[name] = before
    return now, back
