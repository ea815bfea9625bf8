"""Rows and their history written together: a change and its line are one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import Connection, Engine, bindparam, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from app.base import news
from app.base.database import writing
from app.base.errors import Conflict, NotValid
from app.base.ids import new_id
from app.base.messages import N_
from app.base.register.spec import Names, Problem, Register, Row, Value
from app.base.register.store.history import note, version_in
from app.base.register.store.reading import get_in


class Wrong(NotValid):
    """A row that cannot be kept. `problems` says why, field by field."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("The row has mistakes.", holds="Nothing was changed.", do="Mend the fields that are marked.")
        self.problems = tuple(problems)


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
        before = None if row_id is None else get_in(register, connection, row_id)
        if row_id is not None and seen is not None and version_in(connection, register.name, row_id) != seen:
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
        put(register, connection, [(get_in(register, connection, row_id), None)], who=who, now=now)


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
        lines = note(register, connection, pairs, who=who, now=now, file_id=file_id, undoes=undoes or {})
    except IntegrityError as error:
        raise NotValid(
            "Other rows name this one, or somebody changed it at the same moment.",
            holds="Nothing was changed.",
            do="Take those rows out first, or try again.",
        ) from error
    news.tell(connection)
    return lines
