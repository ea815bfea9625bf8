"""Reading the journal: all SQL that other rooms need, and news from other processes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, Text, bindparam, text

from app.base.database import UTCDateTime
from app.journal.entry import Entry
from app.journal.rows import COLUMNS, to_entry

_COLUMNS = ", ".join(COLUMNS)
_ENTRIES = text(f"SELECT {_COLUMNS} FROM journal_entry WHERE case_id = :case AND seq > :after ORDER BY seq")
_ENTRY = text(f"SELECT {_COLUMNS} FROM journal_entry WHERE id = :id")
_HEADS = "SELECT case_id, seq, hash, created_at, ref, room_id, ended FROM journal_head"


@dataclass(frozen=True, slots=True)
class CaseHead:
    """A case as lists show it: how many entries it has, since when it exists, its short text, and the hint `ended`."""

    case: str
    seq: int
    hash: str
    created_at: datetime
    ref: str | None
    room_id: str | None
    ended: bool


def entries(engine: Engine, case_id: str, after_seq: int = 0) -> list[Entry]:
    """The entries of a case in order of arrival, from the one after `after_seq`. Empty for an unknown case."""
    with engine.connect() as connection:
        return [to_entry(row) for row in connection.execute(_ENTRIES, {"case": case_id, "after": after_seq}).all()]


def entry(engine: Engine, entry_id: str) -> Entry | None:
    """One entry by its id."""
    with engine.connect() as connection:
        row = connection.execute(_ENTRY, {"id": entry_id}).first()
        return None if row is None else to_entry(row)


def case_exists(engine: Engine, case_id: str) -> bool:
    """Whether a case was ever made."""
    with engine.connect() as connection:
        found = connection.execute(text("SELECT 1 FROM journal_head WHERE case_id = :case"), {"case": case_id})
        return found.first() is not None


def open_cases(engine: Engine) -> list[str]:
    """Ids of the cases that may not have ended, in the order in which they were made. A hint: the fold decides."""
    query = "SELECT case_id FROM journal_head WHERE NOT ended ORDER BY created_at, case_id"
    with engine.connect() as connection:
        return [case for (case,) in connection.execute(text(query))]


def heads(engine: Engine, cases: Iterable[str] | None = None) -> list[CaseHead]:
    """The heads of some cases, or of all, in the order in which the cases were made."""
    wanted = None if cases is None else list(cases)
    query = text(_HEADS + ("" if wanted is None else " WHERE case_id IN :cases") + " ORDER BY created_at, case_id")
    query = query if wanted is None else query.bindparams(bindparam("cases", expanding=True, type_=Text()))
    typed = query.columns(created_at=UTCDateTime())
    with engine.connect() as connection:
        rows = connection.execute(typed, {} if wanted is None else {"cases": wanted}).all()
    return [_head(row) for row in rows]


def find_heads(engine: Engine, ref: str, most: int) -> list[CaseHead]:
    """The newest cases whose `ref` holds a text (any case of letters), newest first; all of them for an empty text."""
    query = text(_HEADS + " WHERE lower(coalesce(ref, '')) LIKE :like ESCAPE '!' ORDER BY created_at DESC LIMIT :most")
    like = ref.lower().replace("!", "!!").replace("%", "!%").replace("_", "!_")
    with engine.connect() as connection:
        found = connection.execute(query.columns(created_at=UTCDateTime()), {"like": f"%{like}%", "most": most}).all()
    return [_head(row) for row in found]


def case_count(engine: Engine) -> int:
    """How many cases were ever made."""
    with engine.connect() as connection:
        return int(connection.execute(text("SELECT count(*) FROM journal_head")).scalar_one())


def room_of(engine: Engine, case_id: str) -> str | None:
    """The room that a case was opened for; None when none was said or the case is unknown."""
    with engine.connect() as connection:
        row = connection.execute(
            text("SELECT room_id FROM journal_head WHERE case_id = :case"), {"case": case_id}
        ).first()
        return None if row is None else row[0]


def _head(row: Any) -> CaseHead:
    case, seq, hash_, at, ref, room_id, ended = row
    return CaseHead(case, seq, hash_, at, ref, room_id, bool(ended))
