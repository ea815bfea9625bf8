"""`doorside verify`, `backup` and `restore` as a person runs them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from app.base.database import migrate, open_engine, writing
from app.cli import main
from app.journal.entry import Tap
from app.journal.keys import ServerKey, open_key, register
from app.journal.writer import Prepared, Writer

PATIENCE_S = 60
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The data folder of this server."""
    monkeypatch.setenv("DOORSIDE_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def url(folder: Path, new_tap: Callable[..., Tap]) -> str:
    """This server's database, with three entries in one case."""
    url = f"sqlite:///{folder / 'doorside.db'}"
    migrate(url)
    engine, key = open_engine(url), open_key(folder / "server.key")
    register(engine, key)
    writer = Writer(engine, key)
    writer.start()
    writer.create_case("a")
    writer.submit([Prepared(new_tap("a"), {}, "2026-11-03T14:10:00.000000Z") for _ in range(3)]).result(PATIENCE_S)
    writer.stop()
    engine.dispose()
    return url


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def run(*words: object) -> tuple[int, str, str]:
        status = main([str(word) for word in words])
        said = capsys.readouterr()
        return status, said.out, said.err

    return run


def tamper(url: str) -> None:
    engine = open_engine(url)
    with writing(engine) as connection:
        connection.execute(text("DROP TRIGGER journal_entry_no_update"))
        connection.execute(text("UPDATE journal_entry SET body = '{}' WHERE seq = 2"))
    engine.dispose()


def test_verify_says_that_a_clean_journal_is_clean(url: str, run: Run) -> None:
    assert run("verify") == (0, "Clean: 3 entries in 1 cases are as they were stored.\n", "")


def test_verify_prints_one_json_object_and_nothing_else(url: str, run: Run) -> None:
    status, out, err = run("verify", "--db", url, "--json")
    report: dict[str, Any] = json.loads(out)
    assert (status, err, report["ok"], report["entries"], report["key_from"]) == (0, "", True, 3, "file")


def test_verify_names_the_first_bad_entry_and_ends_with_1(url: str, run: Run) -> None:
    tamper(url)
    status, out, err = run("verify")
    assert (status, err) == (1, "")
    assert "Not clean (altered): Entry 2 is not what was stored." in out
    assert "case a · seq 2" in out
    status, out, _ = run("verify", "--json")
    finding = json.loads(out)["finding"]
    assert (status, finding["case"], finding["seq"], finding["wrong"]) == (1, "a", 2, "altered")


def test_verify_takes_a_file_in_place_of_the_url(url: str, run: Run, folder: Path) -> None:
    assert run("verify", folder / "doorside.db")[0] == 0


def test_verify_of_a_file_that_is_not_there_is_a_mistake_in_the_words(run: Run, tmp_path: Path) -> None:
    status, out, err = run("verify", tmp_path / "absent.db")
    assert (status, out) == (2, "")
    assert "There is no file" in err
    assert not (tmp_path / "absent.db").exists()


def test_verify_on_a_machine_without_the_key_says_whose_word_it_took(url: str, run: Run, folder: Path) -> None:
    (folder / "server.key").unlink()
    status, out, _ = run("verify")
    assert status == 0
    assert "public key in the database itself" in out
    assert not (folder / "server.key").exists()


def test_verify_with_a_given_key_trusts_that_one(url: str, run: Run, folder: Path) -> None:
    own = open_key(folder / "server.key").public.hex
    assert run("verify", "--key", own.upper())[0] == 0
    status, out, _ = run("verify", "--key", ServerKey.generate().public.hex)
    assert status == 1
    assert "other key" in out
    assert run("verify", "--key", "nonsense")[0] == 1


def test_a_backup_is_made_verified_and_restored(url: str, run: Run, folder: Path, tmp_path: Path) -> None:
    status, out, err = run("backup", "--out", tmp_path / "copy.db")
    assert (status, err) == (0, "")
    assert "Clean: 3 entries" in out
    assert run("verify", tmp_path / "copy.db")[0] == 0
    new = f"sqlite:///{tmp_path / 'new.db'}"
    status, out, _ = run("restore", tmp_path / "copy.db", "--db", new)
    assert status == 0
    assert "Clean: 3 entries" in out
    assert run("verify", "--db", new)[0] == 0
    status, out, err = run("restore", tmp_path / "copy.db", "--db", new)
    assert (status, out) == (1, "")
    assert "not empty" in err


def test_backup_and_restore_print_json_when_asked(url: str, run: Run, tmp_path: Path) -> None:
    made = json.loads(run("backup", "--out", tmp_path / "copy.db", "--json")[1])
    assert (made["ok"], made["file"], made["entries"]) == (True, str(tmp_path / "copy.db"), 3)
    restored = json.loads(run("restore", tmp_path / "copy.db", "--db", tmp_path / "new.db", "--json")[1])
    assert (restored["ok"], restored["entries"]) == (True, 3)


def test_a_backup_of_a_journal_that_is_not_clean_is_written_and_ends_with_1(url: str, run: Run, tmp_path: Path) -> None:
    tamper(url)
    status, out, _ = run("backup", "--out", tmp_path / "copy.db")
    assert status == 1
    assert "Not clean (altered)" in out
    assert (tmp_path / "copy.db").is_file()
    status, _, err = run("restore", tmp_path / "copy.db", "--db", tmp_path / "new.db")
    assert status == 2
    assert "Nothing was restored" in err


def test_a_lost_key_is_no_dead_end(url: str, run: Run, folder: Path, tmp_path: Path) -> None:
    lost = open_key(folder / "server.key").public.hex
    (folder / "server.key").unlink()
    assert open_key(folder / "server.key").public.hex != lost
    assert run("verify")[0] == 1
    assert run("backup", "--out", tmp_path / "copy.db", "--key", lost)[0] == 0
    assert run("restore", tmp_path / "copy.db", "--db", tmp_path / "new.db", "--key", lost)[0] == 0
    assert run("verify", tmp_path / "new.db")[0] == 0
