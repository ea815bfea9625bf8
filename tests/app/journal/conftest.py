"""A journal to tamper with, and the hand that does it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, text

from app.base.database import writing
from app.base.ids import new_id
from app.journal.rows import COLUMNS, row_hash
from app.journal.writer import Writer

PATIENCE_S = 60
ENTRIES = 10
"""Entries in each of the three cases."""


@pytest.fixture
def cases(writer: Writer, store: Callable[..., list[Any]], new_tap: Callable[..., Any]) -> list[str]:
    """Three cases of ten entries each; the middle one is tampered with."""
    cases = sorted(new_id() for _ in range(3))
    for case in cases:
        writer.create_case(case, "Room").result(PATIENCE_S)
        store(*(new_tap(case) for _ in range(ENTRIES)))
    return cases


class Hand:
    """Somebody with the rights of the database's owner: the guards are off. Nothing counts before `commit`."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.commit = connection.commit

    def run(self, statement: str, **values: Any) -> Any:
        return self._connection.execute(text(statement), values)

    def row(self, case: str, seq: int) -> dict[str, Any]:
        """An entry as it stands."""
        query = f"SELECT {', '.join(COLUMNS)} FROM journal_entry WHERE case_id = :case AND seq = :seq"
        return dict(zip(COLUMNS, self.run(query, case=case, seq=seq).one(), strict=True))

    def change(self, case: str, place: int, /, **columns: Any) -> None:
        """Overwrites columns of an entry."""
        values = ", ".join(f"{name} = :new_{name}" for name in columns)
        new = {f"new_{name}": value for name, value in columns.items()}
        where = "WHERE case_id = :case AND seq = :place"
        self.run(f"UPDATE journal_entry SET {values} {where}", case=case, place=place, **new)

    def remove(self, case: str, *seqs: int) -> None:
        """Deletes entries."""
        for seq in seqs:
            self.run("DELETE FROM journal_entry WHERE case_id = :case AND seq = :seq", case=case, seq=seq)

    def insert(self, columns: dict[str, Any]) -> None:
        """Puts an entry in."""
        values = ", ".join(":" + name for name in COLUMNS)
        self.run(f"INSERT INTO journal_entry ({', '.join(COLUMNS)}) VALUES ({values})", **columns)

    def renumber(self, case: str, start: int, by: int) -> None:
        """Moves every entry from `start` on; in such an order that no two meet."""
        for seq in sorted(range(start, ENTRIES + 1), reverse=by > 0):
            self.change(case, seq, seq=seq + by)

    def chained(self, case: str, seq: int) -> dict[str, Any]:
        """A forged entry that follows the one before it soundly, as anybody can make one."""
        forged = self.row(case, min(seq, ENTRIES)) | {"id": new_id(), "seq": seq}
        forged["prev"] = self.row(case, seq - 1)["hash"]
        return forged | {"hash": row_hash(forged)}


@pytest.fixture
def hand(engine: Engine, cases: list[str]) -> Iterator[Hand]:
    with writing(engine) as connection:
        if engine.dialect.name == "sqlite":
            for name in ("update", "delete", "replace"):
                connection.execute(text(f"DROP TRIGGER journal_entry_no_{name}"))
        else:
            connection.execute(text("ALTER TABLE journal_entry DISABLE TRIGGER ALL"))
        yield Hand(connection)
