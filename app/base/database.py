"""The database engine, the form of stored moments, and bringing a database up to this version.

SQLite is the default: write-ahead log, `synchronous=FULL` (an acknowledged tap is on disk), foreign keys on. The same
code runs on PostgreSQL. A transaction that reads and then writes must take SQLite's write lock at its start, otherwise
it can fail half way when another writer was quicker: use `writing(engine)` for those.
"""

from __future__ import annotations

import ast
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, DateTime, Dialect, Engine, MetaData, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import QueuePool
from sqlalchemy.types import TypeDecorator

from app.base.errors import DoorsideError, NotValid
from app.base.paths import data

NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
"""Names of constraints, the same on both databases, so that a later migration can speak of them."""

MMAP_BYTES = 1 << 30
"""How much of a SQLite file readers may map: one case out of a million entries is then read in under a millisecond."""

BUSY_MS = 10_000
"""How long a SQLite connection waits for another writer's lock [ms]."""

IMMEDIATE = "doorside_immediate"


class UTCDateTime(TypeDecorator[datetime]):
    """A moment, stored in UTC on both databases. Refuses naive values; gives aware ones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a zone cannot be stored")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def stored_moment(moment: datetime, dialect: Dialect) -> Any:
    """A moment as a statement of the driver's own carries it to a column of that type."""
    stored = UTCDateTime().dialect_impl(dialect).bind_processor(dialect)
    return moment if stored is None else stored(moment)


class NoDatabase(DoorsideError):
    """The database cannot be reached or opened. Carries no password: only what kind of database and what to do."""

    status = 503


def name_constraints(metadata: MetaData) -> None:
    """Gives a metadata the naming convention; `tables.py` files call it before their first class."""
    metadata.naming_convention = NAMING


def open_engine(url: str, *, read_only: bool = False) -> Engine:
    """An engine for `sqlite:///path` or `postgresql+psycopg://…`; makes the folder of a SQLite file.

    Raises NotValid for a URL that names no such database. Nothing is connected yet.
    """
    try:
        parsed = make_url(url)
        if parsed.drivername in ("sqlite", "sqlite+pysqlite"):
            return _open_sqlite(parsed.database or "", read_only)
        return create_engine(parsed, pool_size=5, max_overflow=40, pool_recycle=3600)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        raise NotValid(
            "The database URL cannot be used.",
            holds="Nothing was opened.",
            do="Use sqlite:///path, or postgresql+psycopg://user@host/name with the extra `pg` installed.",
        ) from error


def _open_sqlite(path: str, read_only: bool) -> Engine:
    if not read_only:
        Path(path).expanduser().parent.mkdir(parents=True, exist_ok=True)
    file = Path(path).expanduser().resolve()
    where = file.as_uri()
    if read_only:
        # A file in WAL mode needs its -shm beside it even to be read; where none can be made, it is taken as still.
        still = not os.access(file.parent, os.W_OK) and not file.with_name(file.name + "-wal").exists()
        where += "?mode=ro" + ("&immutable=1" if still else "")

    def connect() -> sqlite3.Connection:
        # Autocommit on the driver's side: the begin listener below decides how a transaction starts.
        connection = sqlite3.connect(where, uri=True, isolation_level=None, check_same_thread=False)
        connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
        connection.execute(f"PRAGMA mmap_size={MMAP_BYTES}")
        if not read_only:
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA foreign_keys=ON")
        return connection

    engine = create_engine("sqlite://", creator=connect, pool_size=5, max_overflow=40, poolclass=QueuePool)
    event.listen(engine, "begin", _begin)
    return engine


def _begin(connection: Connection) -> None:
    immediate = connection.get_execution_options().get(IMMEDIATE, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that may read first and write then; committed at the end, rolled back on an error.

    For an ORM session on it: `Session(bind=connection)`.
    """
    with engine.connect().execution_options(**{IMMEDIATE: True}) as connection, connection.begin():
        yield connection


def migrate(url: str) -> None:
    """Brings a database up to this version of Doorside; makes a SQLite file that is not there. Quick when it is.

    Raises NoDatabase when it cannot be reached, NotValid when a newer version of Doorside has changed it.
    """
    engine = open_engine(url)
    try:
        if version_of(engine) != (head := newest_version()):
            _known(version_of(engine))
            _upgrade(url, head)
    except (DBAPIError, sqlite3.Error, OSError) as error:
        raise NoDatabase(
            "The database cannot be opened.",
            holds="Nothing in it was changed.",
            do="Check that its server runs, and the database URL and the rights on its folder.",
        ) from error
    finally:
        engine.dispose()


def version_of(engine: Engine) -> str | None:
    """The revision that a database is at; None for one that was never migrated."""
    with engine.connect() as connection:
        if not engine.dialect.has_table(connection, "alembic_version"):
            return None
        return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _versions() -> dict[str, str | None]:
    """Each revision and the one before it, read from the files: asking Alembic itself costs a third of a second."""
    found: dict[str, str | None] = {}
    for path in data("migrations").joinpath("versions").glob("*.py"):
        names = {
            target.id: ast.literal_eval(node.value)
            for node in ast.parse(path.read_text(encoding="utf-8")).body
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name) and target.id in ("revision", "down_revision")
        }
        found[names["revision"]] = names["down_revision"]
    return found


def newest_version() -> str:
    """The newest revision of the Alembic history."""
    found = _versions()
    (newest,) = found.keys() - set(found.values())
    return newest


def _known(version: str | None) -> None:
    if version is not None and version not in _versions():
        raise NotValid(
            "This database was changed by a newer version of Doorside.",
            holds="Nothing in it was changed.",
            do="Start that version, or restore a backup made before.",
        )


def alembic_config(url: str) -> Any:
    """The Alembic configuration for a database, wherever Doorside is installed."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(data("migrations")).replace("%", "%%"))
    config.set_main_option("sqlalchemy.url", url.replace("%", "%%"))
    return config


def _upgrade(url: str, version: str) -> None:
    from alembic import command

    command.upgrade(alembic_config(url), version)
