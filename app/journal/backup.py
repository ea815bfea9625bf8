"""Copies of a running database, and putting them back. Both are verified before anybody is told that they are good.

A backup is one SQLite file, whichever database it was taken from: it can be verified with `doorside verify FILE`, read
with any SQLite tool, and restored into either database. It holds the public key and never the private one. A restored
journal is signed anew with the key of the server that it now belongs to, after the old signatures were verified.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, MetaData, Table, bindparam, event, func, select, text

from app.base.database import migrate, open_engine, version_of, writing
from app.base.errors import Conflict, NotValid, Unknown
from app.journal.keys import PublicKey, ServerKey, register
from app.journal.verify import Report, verify

AT_ONCE = 2000
NOT_COPIED = ("alembic_version", "server_key")
SIGN = text("UPDATE journal_head SET signature = :signature WHERE case_id = :case").bindparams(bindparam("case"))


def backup(engine: Engine, out: Path, trusted: PublicKey | None = None, key_from: str = "given") -> Report:
    """Writes a copy of one moment to a new file and verifies it; others go on writing meanwhile.

    Raises Conflict when the file exists, Unknown when its folder does not. A journal with a finding is copied all the
    same (it may be all there is); the report says so.
    """
    if not out.parent.is_dir():
        raise Unknown(f"There is no folder {out.parent}.", holds="No backup was made.", do="Make it first.")
    if out.exists():
        raise _there(out)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=".backup-") as aside:
        copy = Path(aside) / "copy.db"
        if engine.dialect.name == "sqlite":
            _copy_sqlite(engine, copy)
        else:
            _copy_postgresql(engine, copy)
        _settle(copy)
        with _opened(f"sqlite:///{copy}", read_only=True) as copied:
            report = verify(copied, trusted, key_from)
        try:
            os.link(copy, out)
        except FileExistsError as error:
            raise _there(out) from error
        _sync(out.parent)
    return report


def restore(file: Path, url: str, key: ServerKey, trusted: PublicKey | None = None, key_from: str = "given") -> Report:
    """Puts a backup into an empty database, signs its heads with `key`, and verifies the result.

    Raises Unknown when there is no such file, NotValid when it is not clean, Conflict when the database holds anything.
    Nothing is changed then.
    """
    if not file.is_file():
        raise Unknown(f"There is no file {file}.", holds="Nothing was restored.")
    with tempfile.TemporaryDirectory(prefix="doorside-restore-") as aside:
        copy = Path(aside) / "copy.db"
        shutil.copyfile(file, copy)
        with _opened(f"sqlite:///{copy}", read_only=True) as backed_up:
            found = verify(backed_up, trusted, key_from)
        if found.finding is not None:
            raise NotValid(f"The backup is not clean. {found.finding.says}", holds="Nothing was restored.", do=_OTHER)
        migrate(f"sqlite:///{copy}")  # a backup of an older version
        migrate(url)
        with _opened(f"sqlite:///{copy}") as source, _opened(url) as target:
            _fill(source, target, key)
            report = verify(target, key.public, "file")
    if report.finding is not None or (report.cases, report.entries) != (found.cases, found.entries):
        raise NotValid("What was restored is not what was backed up.", holds="The backup is as it was.", do=_OTHER)
    return report


_OTHER = "Restore another backup."


def _fill(source: Engine, target: Engine, key: ServerKey) -> None:
    """Copies every table in one transaction and signs the heads."""
    tables = [table for table in _tables(source) if table.name not in NOT_COPIED]
    with source.connect() as reading, writing(target) as connection:
        for table in tables:
            if connection.execute(select(func.count()).select_from(table)).scalar_one():
                raise Conflict(
                    "The database to restore into is not empty.",
                    holds="Nothing in it was changed.",
                    do="Name one that does not exist yet.",
                )
        for table in tables:
            _copy_rows(table, reading, connection)
        heads = connection.execute(text("SELECT case_id, seq, hash FROM journal_head")).all()
        if heads:
            signed = [{"case": case, "signature": key.sign_head(case, seq, hash_)} for case, seq, hash_ in heads]
            connection.execute(SIGN, signed)
    register(target, key)


def _tables(sqlite: Engine) -> list[Table]:
    """The tables of a SQLite file with types that both databases understand, parents before children."""
    metadata = MetaData()

    @event.listens_for(metadata, "column_reflect")
    def _(_inspector: Any, _table: Any, column: dict[str, Any]) -> None:
        column["type"] = column["type"].as_generic()

    metadata.reflect(bind=sqlite)
    return metadata.sorted_tables


def _copy_rows(table: Table, source: Connection, target: Connection) -> None:
    names = [column.name for column in table.columns]
    aware = target.dialect.name == "postgresql"
    found = source.execution_options(stream_results=True, yield_per=AT_ONCE).execute(select(table))
    for rows in found.partitions():
        target.execute(
            table.insert(),
            [{name: _moment(value, aware) for name, value in zip(names, row, strict=True)} for row in rows],
        )


def _moment(value: Any, aware: bool) -> Any:
    """Moments are UTC on both databases: with a zone on PostgreSQL, without on SQLite."""
    if not isinstance(value, datetime):
        return value
    value = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
    return value if aware else value.replace(tzinfo=None)


def _copy_sqlite(engine: Engine, copy: Path) -> None:
    """SQLite's own online copy, in one step, which sees one moment."""
    pooled = engine.raw_connection()
    target = sqlite3.connect(copy)
    try:
        source: Any = pooled.driver_connection
        source.backup(target)
    finally:
        target.close()
        pooled.close()


def _copy_postgresql(engine: Engine, copy: Path) -> None:
    """Every table, as of one moment, into a new SQLite file."""
    url = f"sqlite:///{copy}"
    migrate(url)
    reading_at = engine.connect().execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
    with _opened(url) as target, reading_at as reading:
        if version_of(engine) != version_of(target):
            raise NotValid(
                "The database is of another version of Doorside than this command.",
                holds="No backup was made.",
                do="Use the version that serves it, or start this one's server once.",
            )
        with writing(target) as connection:
            for table in _tables(target):
                if table.name != "alembic_version":
                    _copy_rows(table, reading, connection)


def _settle(copy: Path) -> None:
    """Makes the copy one file that can be opened where nothing may be written, for its owner alone, and syncs it."""
    connection = sqlite3.connect(copy)
    try:
        connection.execute("PRAGMA journal_mode=DELETE")
    finally:
        connection.close()
    copy.chmod(0o600)
    _sync(copy)


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _opened(url: str, *, read_only: bool = False) -> Iterator[Engine]:
    engine = open_engine(url, read_only=read_only)
    try:
        yield engine
    finally:
        engine.dispose()


def _there(out: Path) -> Conflict:
    return Conflict(
        f"The file {out} exists.", holds="It was not touched, and no backup was made.", do="Name a new file."
    )
