"""Tampering with heads, signatures and keys; and files that are damaged or no journal at all."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import Engine, text

from app.base.database import open_engine, writing
from app.journal.chains import Finding
from app.journal.entry import Tap
from app.journal.keys import BadKey, PublicKey, ServerKey
from app.journal.verify import verify
from app.journal.writer import Prepared, Writer

PATIENCE_S = 60
Hand = Any
ENTRIES = 10
NewTap = Callable[..., Tap]


@pytest.fixture
def case(cases: list[str]) -> str:
    """The case that is tampered with."""
    return cases[1]


def found(engine: Engine, key: ServerKey) -> Finding:
    report = verify(engine, key.public)
    assert not report.clean
    assert report.finding is not None
    return report.finding


def test_a_removed_head_is_found(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.run("DELETE FROM journal_head WHERE case_id = :case", case=case)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).wrong) == (case, "no head")


def test_the_newest_entry_removed_and_the_head_moved_back_is_found(
    engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    hand.remove(case, ENTRIES)
    values = {"case": case, "seq": ENTRIES - 1, "hash": hand.row(case, ENTRIES - 1)["hash"]}
    hand.run("UPDATE journal_head SET seq = :seq, hash = :hash WHERE case_id = :case", **values)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.wrong) == (case, ENTRIES - 1, "signature wrong")


@pytest.mark.parametrize("columns", ["seq = 9", "seq = 11", "hash = 'x'", "seq = 0"])
def test_an_altered_head_is_found(columns: str, engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.run(f"UPDATE journal_head SET {columns} WHERE case_id = :case", case=case)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).wrong) == (case, "head altered")


@pytest.mark.parametrize("signature", ["", "no", "00" * 64])
def test_a_wrong_signature_is_found(signature: str, engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    values = {"case": case, "signature": signature}
    hand.run("UPDATE journal_head SET signature = :signature WHERE case_id = :case", **values)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).wrong) == (case, "signature wrong")


def test_a_signature_of_another_case_does_not_fit(engine: Engine, key: ServerKey, cases: list[str], hand: Hand) -> None:
    query = "UPDATE journal_head SET signature = (SELECT signature FROM journal_head WHERE case_id = :other)"
    hand.run(query + " WHERE case_id = :case", case=cases[1], other=cases[0])
    hand.commit()
    assert found(engine, key).wrong == "signature wrong"


def test_with_head_and_entry_altered_the_entry_is_named(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.change(case, 4, body="{}")
    hand.run("UPDATE journal_head SET signature = '' WHERE case_id = :case", case=case)
    hand.commit()
    assert (found(engine, key).seq, found(engine, key).wrong) == (4, "altered")


def test_a_journal_rewritten_and_signed_with_a_key_of_ones_own_is_found_where_the_true_key_is_known(
    engine: Engine, key: ServerKey, cases: list[str], hand: Hand
) -> None:
    forger = ServerKey.generate()
    for case in cases:
        head = hand.run("SELECT seq, hash FROM journal_head WHERE case_id = :case", case=case).one()
        values = {"case": case, "signature": forger.sign_head(case, head[0], head[1])}
        hand.run("UPDATE journal_head SET signature = :signature WHERE case_id = :case", **values)
    hand.run("UPDATE server_key SET public_key = :key", key=forger.public.hex)
    hand.commit()
    assert found(engine, key).wrong == "other key"
    assert forger.public.fingerprint in found(engine, key).says
    assert verify(engine).clean  # without the key file nobody can tell, and the report says whose word was taken
    assert verify(engine).key_from == "database"


def test_only_the_public_key_in_the_database_altered_is_found(
    engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    hand.run("UPDATE server_key SET public_key = :key", key=ServerKey.generate().public.hex)
    hand.commit()
    assert found(engine, key).wrong == "key altered"
    report = verify(engine)
    assert report.finding is not None
    assert report.finding.wrong == "signature wrong"


def test_a_journal_without_any_key_asks_for_one(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.run("DELETE FROM server_key")
    hand.commit()
    with pytest.raises(BadKey, match="--key"):
        verify(engine)
    assert verify(engine, PublicKey(key.public.hex)).clean


def test_guards_that_were_dropped_are_reported(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.commit()
    report = verify(engine, key.public)
    assert report.clean
    assert not report.guarded


@pytest.mark.parametrize("change_to", ["counter = x'00'", "counter = 'text'", "counter = 9.5", "offset_ms = 'text'"])
def test_a_number_that_became_something_else_is_found(change_to: str, sqlite_url: str, new_tap: NewTap) -> None:
    engine, key = open_engine(sqlite_url), ServerKey.generate()
    writer = Writer(engine, key)
    writer.start()
    writer.create_case("a")
    writer.submit([Prepared(new_tap("a"), {}, "2026-11-03T14:10:00.000000Z")]).result(PATIENCE_S)
    writer.stop()
    with writing(engine) as connection:
        connection.execute(text("DROP TRIGGER journal_entry_no_update"))
        connection.execute(text(f"UPDATE journal_entry SET {change_to}"))
    assert (found(engine, key).seq, found(engine, key).wrong) == (1, "altered")
    engine.dispose()


def test_a_damaged_file_is_a_finding_and_no_crash(sqlite_url: str, new_tap: NewTap) -> None:
    path = sqlite_url.removeprefix("sqlite:///")
    engine, key = open_engine(sqlite_url), ServerKey.generate()
    writer = Writer(engine, key)
    writer.start()
    writer.create_case("a")
    writer.submit([Prepared(new_tap("a"), {}, "2026-11-03T14:10:00.000000Z") for _ in range(200)]).result(PATIENCE_S)
    writer.stop()
    engine.dispose()
    with open(path, "r+b") as file:
        size = file.seek(0, 2)
        file.seek(4096)
        file.write(b"\xa5" * (size - 4096))
    damaged = open_engine(sqlite_url, read_only=True)
    assert found(damaged, key).wrong == "unreadable"
    damaged.dispose()


def test_what_is_no_database_is_a_finding_and_no_crash(tmp_path: Any) -> None:
    (tmp_path / "letter.txt").write_text("Dear reader, " * 1000)
    engine = open_engine(f"sqlite:///{tmp_path / 'letter.txt'}", read_only=True)
    report = verify(engine)
    assert report.finding is not None
    assert report.finding.wrong == "unreadable"
    engine.dispose()
