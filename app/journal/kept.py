"""The writer's own connection, kept from one transaction to the next, with nothing between it and the driver.

Taking a connection from the pool, beginning and giving it back costs as much as storing three taps. Whatever goes wrong
in a transaction closes the connection, which rolls back what is open, and the next has another.
"""

from __future__ import annotations

from collections.abc import Sequence
from types import TracebackType
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError


class Kept:
    """One connection at most. As a context: what was begun and not committed is rolled back at its end."""

    def __init__(self, engine: Engine) -> None:
        self._engine, self._dialect = engine, engine.dialect
        # PostgreSQL's driver begins by itself; SQLite's write lock is taken at once, or it could be refused half way.
        self._begin = "BEGIN IMMEDIATE" if self._dialect.name == "sqlite" else None
        self._raw: Any = None
        self._open = False

    def connect(self) -> Kept:
        """Takes a connection when none is kept."""
        if self._raw is None:
            self._raw = self._engine.raw_connection()
            self._raw.detach()  # its own from here on: no place in the pool is taken
        return self

    def begin(self) -> None:
        self._open = True
        if self._begin is not None:
            self.run(self._begin)

    def run(self, statement: str, values: Sequence[Any] = (), *, many: bool = False) -> Any:
        """A cursor that has run a statement, once or for many values. Raises the driver's errors as SQLAlchemy does."""
        try:
            cursor = self._raw.cursor()
            (cursor.executemany if many else cursor.execute)(statement, values)
        except self._dialect.loaded_dbapi.Error as error:
            raise self._told(statement, error) from error
        return cursor

    def commit(self) -> None:
        try:
            self._raw.commit()
        except self._dialect.loaded_dbapi.Error as error:
            raise self._told("COMMIT", error) from error
        self._open = False

    def _told(self, statement: str, error: Any) -> Any:
        driver = self._dialect.loaded_dbapi.Error
        if self._dialect.is_disconnect(error, self._raw.dbapi_connection, None):
            self._raw.invalidate(error)
        return DBAPIError.instance(statement, None, error, driver, hide_parameters=True, dialect=self._dialect)

    def __enter__(self) -> Kept:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self._open or error is not None:
            self.let_go()

    def let_go(self) -> None:
        """Closes the connection, which rolls back what is open."""
        raw, self._raw, self._open = self._raw, None, False
        if raw is not None:
            raw.close()
