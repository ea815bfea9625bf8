"""Backups: one moment, one file, verified, and put back only where nothing is."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, text
from sqlmodel import Session, select

from app.base.database import open_engine, writing
from app.base.errors import Conflict, NotValid, Unknown
from app.journal import store as journal
from app.journal.backup import backup, restore
from app.journal.entry import Tap
from app.journal.keys import ServerKey, register
from app.journal.verify import verify
from app.journal.writer import Prepared, Writer
from app.people.tables import Person
from app.rooms.tables import Room
from app.stations.tables import Station, StationCase

AT = "2026-11-03T14:10:01.000000Z"
PATIENCE_S = 60
WHEN = datetime(2026, 11, 3, 14, 10, 0, 250_000, tzinfo=UTC)
NewTap = Callable[..., Tap]
Store = Callable[..., list[Any]]


@pytest.fixture
def filled(engine: Engine, case: str, store: Store, new_tap: NewTap) -> str:
    """A journal of one case, and a row in every register."""
    store(*(new_tap(case, offset_ms=0.1 * n, person="P1", body={"text": "ü ☂"}) for n in range(20)))
    with Session(engine) as session:
        session.add(
            Person(id="P1", name="Ada", initials="A", job="nurse", fit='{"K2":"2026-02-10"}', drill=date(2026, 5, 2))
        )
        session.add(Room(id="R1", name="Room 4", ach=12.5, clear=99.9))
        session.add(Station(id="S1", kind="inside", label="x", secret_hash="x", created_at=WHEN))
        session.flush()
        session.add(StationCase(station_id="S1", case_id=case, paired_at=WHEN))
        session.commit()
    return case


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database to restore into."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'new' / 'restored.db'}"
    return str(request.getfixturevalue("new_postgres")(migrated=False))


def test_a_backup_is_one_clean_file_for_its_owner_alone(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path
) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    report = backup(engine, folder / "monday.db", key.public)
    assert report.clean
    assert (report.cases, report.entries) == (1, 20)
    assert [path.name for path in folder.iterdir()] == ["monday.db"]
    assert (folder / "monday.db").stat().st_mode & 0o777 == 0o600


def test_a_backup_can_be_verified_where_the_key_file_is_not_and_holds_no_private_key(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path
) -> None:
    backup(engine, tmp_path / "copy.db")
    copied = open_engine(f"sqlite:///{tmp_path / 'copy.db'}", read_only=True)
    report = verify(copied)
    copied.dispose()
    assert report.clean
    assert (report.key, report.key_from) == (key.public.fingerprint, "database")
    content = (tmp_path / "copy.db").read_bytes()
    private = key._private.private_bytes_raw()
    assert key.public.hex.encode() in content
    assert private not in content
    assert private.hex().encode() not in content


def test_what_is_restored_is_what_was_backed_up_signed_by_its_new_server(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path, empty_url: str
) -> None:
    backup(engine, tmp_path / "copy.db", key.public)
    new_key = ServerKey.generate()
    report = restore(tmp_path / "copy.db", empty_url, new_key, key.public)
    assert report.clean
    restored = open_engine(empty_url)
    assert journal.entries(restored, filled) == journal.entries(engine, filled)
    assert journal.heads(restored) == journal.heads(engine)
    for table in (Person, Room, Station, StationCase):
        with Session(engine) as before, Session(restored) as after:
            rows = [[row.model_dump() for row in session.exec(select(table)).all()] for session in (before, after)]
        assert rows[0] == rows[1] != []
    assert verify(restored, new_key.public).clean
    register(restored, new_key)
    restored.dispose()


def test_a_restored_journal_goes_on(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path, empty_url: str, new_tap: NewTap
) -> None:
    backup(engine, tmp_path / "copy.db", key.public)
    restore(tmp_path / "copy.db", empty_url, key)
    restored = open_engine(empty_url)
    writer = Writer(restored, key)
    writer.start()
    (outcome,) = writer.submit([Prepared(new_tap(filled), {}, AT)]).result(PATIENCE_S)
    writer.stop()
    assert outcome.entry is not None
    assert outcome.entry.seq == 21
    assert verify(restored, key.public).clean
    restored.dispose()


def test_a_backup_is_of_one_moment_while_others_go_on_writing(
    engine: Engine, key: ServerKey, writer: Writer, filled: str, tmp_path: Path, new_tap: NewTap
) -> None:
    stop = threading.Event()
    written: list[int] = []

    def go_on() -> None:
        while not stop.is_set():
            writer.submit([Prepared(new_tap(filled), {}, AT) for _ in range(20)]).result(PATIENCE_S)
            written.append(20)

    thread = threading.Thread(target=go_on)
    thread.start()
    try:
        for n in range(3):
            before = len(journal.entries(engine, filled))
            report = backup(engine, tmp_path / f"{n}.db", key.public)
            assert report.clean
            assert before <= report.entries <= len(journal.entries(engine, filled))
    finally:
        stop.set()
        thread.join()
    assert written


def test_an_existing_file_is_never_overwritten(engine: Engine, filled: str, tmp_path: Path) -> None:
    (tmp_path / "letter.db").write_text("dear")
    with pytest.raises(Conflict, match="exists"):
        backup(engine, tmp_path / "letter.db")
    assert (tmp_path / "letter.db").read_text() == "dear"


def test_a_backup_into_a_folder_that_is_not_there_is_refused(engine: Engine, filled: str, tmp_path: Path) -> None:
    with pytest.raises(Unknown, match="no folder"):
        backup(engine, tmp_path / "nowhere" / "copy.db")


def test_a_database_that_holds_anything_is_not_restored_into(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path, database_url: str
) -> None:
    backup(engine, tmp_path / "copy.db", key.public)
    before = journal.entries(engine, filled)
    with pytest.raises(Conflict, match="not empty"):
        restore(tmp_path / "copy.db", database_url, key)
    assert journal.entries(engine, filled) == before
    assert verify(engine, key.public).clean


def test_a_backup_that_was_tampered_with_is_not_restored(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path, empty_url: str
) -> None:
    backup(engine, tmp_path / "copy.db", key.public)
    copied = open_engine(f"sqlite:///{tmp_path / 'copy.db'}")
    with writing(copied) as connection:
        connection.execute(text("DROP TRIGGER journal_entry_no_update"))
        connection.execute(text("UPDATE journal_entry SET body = '{}' WHERE seq = 7"))
    copied.dispose()
    with pytest.raises(NotValid, match="Entry 7 is not what was stored"):
        restore(tmp_path / "copy.db", empty_url, key)


def test_a_backup_signed_by_another_server_needs_that_servers_key(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path, empty_url: str
) -> None:
    backup(engine, tmp_path / "copy.db", key.public)
    own = ServerKey.generate()
    with pytest.raises(NotValid, match="another key"):
        restore(tmp_path / "copy.db", empty_url, own, own.public, "file")
    assert restore(tmp_path / "copy.db", empty_url, own, key.public).clean


def test_what_is_no_backup_is_refused(tmp_path: Path, key: ServerKey, empty_url: str) -> None:
    with pytest.raises(Unknown, match="no file"):
        restore(tmp_path / "absent.db", empty_url, key)
    (tmp_path / "letter.txt").write_text("Dear reader, " * 1000)
    with pytest.raises(NotValid, match="no journal"):
        restore(tmp_path / "letter.txt", empty_url, key)


def test_a_damaged_journal_is_copied_all_the_same_and_the_report_says_so(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path
) -> None:
    with writing(engine) as connection:
        connection.execute(text("UPDATE journal_head SET seq = 21"))
    report = backup(engine, tmp_path / "copy.db", key.public)
    assert report.finding is not None
    assert (tmp_path / "copy.db").is_file()


def test_two_backups_of_the_same_name_at_once_leave_one_whole_file(
    engine: Engine, key: ServerKey, filled: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "copy.db"
    monkeypatch.setattr("app.journal.backup._settle", lambda copy: out.write_text("the other was quicker"))
    with pytest.raises(Conflict, match="exists"):
        backup(engine, out, key.public)
    assert out.read_text() == "the other was quicker"
    assert not list(tmp_path.glob(".backup-*"))
