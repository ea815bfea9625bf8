"""Runs the one history on SQLite and on PostgreSQL. Files in `versions/` import nothing of the app: they must go on
working whatever the app becomes; only this file knows the tables, to compare them (`alembic check`).
"""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlmodel import SQLModel
from sqlmodel.sql.sqltypes import AutoString

import app
from app.base.settings import load

LOCK = 0x0D005DE  # any number, the same in every process: two servers that start together migrate one after the other


def url() -> str:
    """The URL that the server handed over, or the setting when Alembic was called by hand."""
    return context.config.get_main_option("sqlalchemy.url") or load().db


def metadata() -> sa.MetaData:
    """The tables of every room of the house that has some."""
    home = Path(app.__file__).parent
    for path in sorted(home.rglob("tables.py")):
        importlib.import_module(".".join(("app", *path.relative_to(home).with_suffix("").parts)))
    return SQLModel.metadata


def render_item(kind: str, item: Any, _: AutogenContext) -> str | bool:
    """Writes the plain type that stands behind one of ours."""
    if kind == "type" and isinstance(item, AutoString):
        return f"sa.String(length={item.length})" if item.length else "sa.String()"
    if kind == "type" and type(item).__module__.startswith("app."):
        return f"sa.{item.impl_instance!r}"
    return False


def engine(database_url: str) -> sa.Engine:
    """An engine for migrations alone.

    SQLite: a migration is one transaction, or a failed one would leave half its tables; and no foreign keys meanwhile,
    or rebuilding a parent table would take its children along. They are checked at the end instead.
    """
    made = sa.create_engine(database_url, poolclass=sa.pool.NullPool)
    if made.dialect.name == "sqlite":
        sa.event.listen(made, "connect", lambda raw, _: setattr(raw, "isolation_level", None))
        sa.event.listen(made, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE"))
    return made


def run() -> None:
    """Runs what was asked for in one transaction."""
    made = engine(url())
    with made.connect() as connection, connection.begin():
        sqlite = connection.dialect.name == "sqlite"
        if not sqlite:
            connection.execute(sa.text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        context.configure(
            connection=connection,
            target_metadata=metadata(),
            render_as_batch=True,
            render_item=render_item,
            compare_type=True,
        )
        context.run_migrations()
        if sqlite and (broken := connection.exec_driver_sql("PRAGMA foreign_key_check").first()):
            raise RuntimeError(f"The migration would leave a row of {broken[0]} without its {broken[2]}.")
    made.dispose()


run()
