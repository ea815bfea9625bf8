"""The schema: one history, both databases, and guards that keep entries as they are."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Engine, inspect, text
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from app.base.database import alembic_config, migrate, newest_version, open_engine, version_of
from app.base.errors import NotValid
from app.base.paths import data
from app.base.time import utc_now
from app.journal.entry import Tap
from app.people.tables import Immunity, Person
from app.stations.tables import Station
from app.stations.values import KINDS


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database in which nothing is, not even migrated."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'empty.db'}"
    return str(request.getfixturevalue("new_postgres")(migrated=False))


@pytest.fixture
def empty(empty_url: str) -> Iterator[Engine]:
    engine = open_engine(empty_url)
    yield engine
    engine.dispose()


def test_the_history_goes_up_down_and_up_again(empty_url: str, empty: Engine) -> None:
    config = alembic_config(empty_url)
    command.upgrade(config, "head")
    full = set(inspect(empty).get_table_names())
    command.downgrade(config, "base")
    assert set(inspect(empty).get_table_names()) == {"alembic_version"}
    command.upgrade(config, "head")
    assert (
        set(inspect(empty).get_table_names()) == full >= {"journal_entry", "journal_head", "person", "room", "station"}
    )
    assert version_of(empty) == newest_version()


def test_the_tables_in_code_are_the_tables_in_the_database(database_url: str) -> None:
    command.check(alembic_config(database_url))  # raises when a migration is missing


def test_migrating_twice_does_nothing_the_second_time(
    database_url: str, monkeypatch: pytest.MonkeyPatch, engine: Engine
) -> None:
    monkeypatch.setattr("app.base.database._upgrade", lambda *_: pytest.fail("a current database was migrated"))
    migrate(database_url)
    assert version_of(engine) == newest_version()


def test_a_database_of_a_newer_version_is_left_alone(database_url: str, engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'of the future'"))
    with pytest.raises(NotValid, match="newer version"):
        migrate(database_url)
    assert version_of(engine) == "of the future"


def test_a_migration_that_fails_half_way_leaves_nothing_behind(
    empty_url: str, empty: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    from alembic.operations import Operations

    monkeypatch.setattr(Operations, "create_index", lambda *_, **__: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        migrate(empty_url)
    assert set(inspect(empty).get_table_names()) == set()


def test_the_history_imports_nothing_of_the_app() -> None:
    for path in data("migrations").joinpath("versions").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            assert not [name for name in names if name.split(".")[0] in ("app", "sqlmodel")], path.name


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE journal_entry SET body = '{}'",
        "UPDATE journal_entry SET seq = seq + 100",
        "DELETE FROM journal_entry",
    ],
)
def test_a_stored_entry_can_be_neither_changed_nor_removed(
    statement: str, engine: Engine, case: str, store: Callable[..., list[object]], new_tap: Callable[..., Tap]
) -> None:
    store(new_tap(case))
    before = _rows(engine)
    with engine.connect() as connection, pytest.raises(IntegrityError, match="a stored entry is never"):
        connection.execute(text(statement))
    assert _rows(engine) == before


BACK_DOORS = {
    "sqlite": "INSERT OR REPLACE INTO journal_entry SELECT * FROM journal_entry",
    "postgresql": "TRUNCATE journal_entry",
}
"""Statements that remove rows without firing a DELETE trigger."""


def test_the_back_door_to_stored_entries_is_shut(
    engine: Engine, case: str, store: Callable[..., list[object]], new_tap: Callable[..., Tap]
) -> None:
    store(new_tap(case))
    before = _rows(engine)
    with engine.connect() as connection, pytest.raises(IntegrityError, match="a stored entry is never"):
        connection.execute(text(BACK_DOORS[engine.dialect.name]))
    assert _rows(engine) == before


def test_every_kind_of_station_and_state_of_immunity_fits_its_table(engine: Engine) -> None:
    with Session(engine) as session:
        for kind in KINDS:
            session.add(Station(id=kind, kind=kind, label=kind, secret_hash="x", created_at=utc_now()))
        for immune in ("yes", "no", "unknown"):
            session.add(Person(id=immune, name="N", initials="N", job="nurse"))
            session.flush()
            session.add(Immunity(id=immune, person_id=immune, condition="measles", state=immune))
        session.commit()
    with Session(engine) as session:
        session.add(Station(id="x", kind="kiosk", label="x", secret_hash="x", created_at=utc_now()))
        with pytest.raises(IntegrityError):
            session.flush()


def _rows(engine: Engine) -> list[object]:
    with engine.connect() as connection:
        return [tuple(row) for row in connection.execute(text("SELECT * FROM journal_entry ORDER BY id"))]
