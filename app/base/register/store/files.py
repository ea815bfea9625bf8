"""The files of registers: what was tried, taken in, taken back and given out, by whom and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Engine, delete, insert, select, update

from app.base.database import writing
from app.base.errors import Unknown
from app.base.ids import new_id
from app.base.register.tables import RegisterFile

_FILE = RegisterFile.__table__  # type: ignore[attr-defined]
_TOLD = ("id", "state", "who", "at", "name", "rows")


@dataclass(frozen=True, slots=True)
class File:
    """A file that went in or out. `text` is empty once it is not waiting any more."""

    id: str
    state: str
    who: str
    at: datetime
    name: str
    rows: int
    text: str


def keep(
    connection: Connection, register: str, state: str, *, who: str, now: datetime, name: str, rows: int, text: str
) -> str:
    """Notes a file; gives its id."""
    file_id = new_id()
    told = {
        "id": file_id,
        "book": register,
        "state": state,
        "who": who,
        "at": now,
        "name": name[:100],
        "rows": rows,
    }
    connection.execute(insert(_FILE), [{**told, "text": text}])
    return file_id


def exported(engine: Engine, register: str, *, who: str, now: datetime, rows: int) -> None:
    """Notes that a register was given out."""
    with writing(engine) as connection:
        keep(connection, register, "out", who=who, now=now, name="", rows=rows, text="")


def forget_tried(connection: Connection, register: str) -> None:
    """Drops files that were tried and never confirmed."""
    connection.execute(delete(_FILE).where(_FILE.c.book == register, _FILE.c.state == "tried"))


def mark(connection: Connection, file_id: str, state: str) -> None:
    """A file's new state; its text is not needed any more."""
    connection.execute(update(_FILE).where(_FILE.c.id == file_id).values(state=state, text=""))


def get(connection: Connection, register: str, file_id: str) -> File:
    """One file. Raises Unknown."""
    query = select(_FILE).where(_FILE.c.book == register, _FILE.c.id == file_id)
    found = connection.execute(query).mappings().first()
    if found is None:
        raise Unknown("There is no such file.", do="Choose it again.")
    return File(**{name: found[name] for name in (*_TOLD, "text")})


def latest(engine: Engine, register: str, most: int = 20) -> list[File]:
    """The newest files of a register, without their text."""
    query = select(*(_FILE.c[name] for name in _TOLD)).where(_FILE.c.book == register)
    query = query.order_by(_FILE.c.at.desc(), _FILE.c.id.desc())
    with engine.connect() as connection:
        return [File(**row, text="") for row in connection.execute(query.limit(most)).mappings()]
