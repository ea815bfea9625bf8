"""Tampering with the database itself: each is found and the first bad entry is named."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, text

from app.base.database import open_engine, writing
from app.base.ids import new_id
from app.journal.chains import Finding
from app.journal.entry import Tap
from app.journal.keys import BadKey, PublicKey, ServerKey
from app.journal.rows import COLUMNS, row_hash
from app.journal.verify import Report, verify
from app.journal.writer import Prepared, Writer

PATIENCE_S = 60
ENTRIES = 10
Store = Callable[..., list[Any]]
NewTap = Callable[..., Tap]


@pytest.fixture
def cases(writer: Writer, store: Store, new_tap: NewTap) -> list[str]:
    """Three cases of ten entries each; the middle one is tampered with."""
    cases = sorted(new_id() for _ in range(3))
    for case in cases:
        writer.create_case(case, "Room").result(PATIENCE_S)
        store(*(new_tap(case) for _ in range(ENTRIES)))
    return cases


@pytest.fixture
def case(cases: list[str]) -> str:
    return cases[1]


@pytest.fixture
def hand(engine: Engine, case: str) -> Iterator[Connection]:
    """Somebody with the rights of the database's owner: the guards are off."""
    with writing(engine) as connection:
        if engine.dialect.name == "sqlite":
            for name in ("update", "delete", "replace"):
                connection.execute(text(f"DROP TRIGGER journal_entry_no_{name}"))
        else:
            connection.execute(text("ALTER TABLE journal_entry DISABLE TRIGGER ALL"))
        yield connection


def row(connection: Connection, case: str, seq: int) -> dict[str, Any]:
    found = connection.execute(
        text(f"SELECT {', '.join(COLUMNS)} FROM journal_entry WHERE case_id = :case AND seq = :seq"),
        {"case": case, "seq": seq},
    ).one()
    return dict(zip(COLUMNS, found, strict=True))


def change(connection: Connection, case: str, place: int, /, **columns: Any) -> None:
    values = ", ".join(f"{name} = :new_{name}" for name in columns)
    connection.execute(
        text(f"UPDATE journal_entry SET {values} WHERE case_id = :case AND seq = :place"),
        {"case": case, "place": place} | {f"new_{name}": value for name, value in columns.items()},
    )


def remove(connection: Connection, case: str, *seqs: int) -> None:
    for seq in seqs:
        connection.execute(
            text("DELETE FROM journal_entry WHERE case_id = :case AND seq = :seq"), {"case": case, "seq": seq}
        )


def insert(connection: Connection, columns: dict[str, Any]) -> None:
    names = ", ".join(COLUMNS)
    connection.execute(
        text(f"INSERT INTO journal_entry ({names}) VALUES ({', '.join(':' + name for name in COLUMNS)})"), columns
    )


def renumber(connection: Connection, case: str, start: int, by: int) -> None:
    """Moves every entry from `start` on; backwards in order so that no two meet."""
    for seq in sorted(range(start, ENTRIES + 1), reverse=by > 0):
        change(connection, case, seq, seq=seq + by)


def chained(connection: Connection, case: str, seq: int, **columns: Any) -> dict[str, Any]:
    """A forged entry that follows the one before it soundly, as anybody can make one."""
    forged = row(connection, case, min(seq, ENTRIES)) | {"id": new_id(), "seq": seq} | columns
    forged["prev"] = row(connection, case, seq - 1)["hash"]
    return forged | {"hash": row_hash(forged)}


def found(engine: Engine, key: ServerKey) -> Finding:
    report = verify(engine, key.public)
    assert not report.clean
    assert report.finding is not None
    return report.finding


def test_an_untouched_journal_is_clean(engine: Engine, key: ServerKey, cases: list[str]) -> None:
    assert verify(engine, key.public) == Report(3, 3 * ENTRIES, key.public.fingerprint, "given", True, None)
    assert verify(engine).key_from == "database"
    assert verify(engine).clean


def test_an_empty_journal_is_clean(engine: Engine) -> None:
    assert verify(engine) == Report(0, 0, None, "database", True, None)


def test_a_case_without_entries_is_clean(engine: Engine, writer: Writer, key: ServerKey) -> None:
    writer.create_case(new_id()).result(PATIENCE_S)
    assert verify(engine, key.public).clean


@pytest.mark.parametrize("seq", [1, 5, ENTRIES])
@pytest.mark.parametrize(
    "columns",
    [
        {"body": '{"spo2":98}'},
        {"kind": "note"},
        {"id": "another"},
        {"role": "TL"},
        {"person": "P1"},
        {"station": "x"},
        {"counter": 4711},
        {"device_at": "2026-11-03T14:10:00.001Z"},
        {"offset_ms": 0.5},
        {"error_ms": 0.5},
        {"facts": '{"a":1}'},
        {"received_at": "2026-11-03T14:10:02.000000Z"},
        {"hash": "0" * 64},
        {"prev": "1" * 64},
    ],
    ids=lambda columns: next(iter(columns)) if isinstance(columns, dict) else None,
)
def test_an_altered_entry_is_named(
    seq: int, columns: dict[str, Any], engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    change(hand, case, seq, **columns)
    id_ = row(hand, case, seq)["id"]
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, seq, id_, "altered")


@pytest.mark.parametrize("seq", [1, 5, ENTRIES])
def test_an_altered_entry_with_its_hash_made_to_fit_is_named(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    forged = row(hand, case, seq) | {"body": '{"spo2":98}'}
    change(hand, case, seq, body=forged["body"], hash=row_hash(forged))
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, seq, forged["id"], "altered")


def test_the_newest_entry_removed_is_named(engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
    remove(hand, case, ENTRIES)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, ENTRIES, None, "newest removed")


def test_the_newest_three_removed_name_the_first_of_them(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    remove(hand, case, 8, 9, 10)
    hand.commit()
    assert (found(engine, key).seq, found(engine, key).wrong) == (8, "newest removed")


def test_all_entries_of_a_case_removed_is_found(engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
    remove(hand, case, *range(1, ENTRIES + 1))
    hand.commit()
    assert (found(engine, key).case, found(engine, key).seq, found(engine, key).wrong) == (case, 1, "newest removed")


@pytest.mark.parametrize("seq", [1, 5])
def test_an_entry_removed_from_the_middle_is_named(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    remove(hand, case, seq)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).seq, found(engine, key).wrong) == (case, seq, "missing")


def test_an_entry_removed_and_the_rest_moved_up_is_named(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    remove(hand, case, 5)
    renumber(hand, case, 6, -1)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).seq, found(engine, key).wrong) == (case, 5, "missing")


@pytest.mark.parametrize(("one", "other"), [(5, 6), (1, ENTRIES), (3, 8)])
def test_two_swapped_entries_name_the_earlier_place(
    one: int, other: int, engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    moved = row(hand, case, other)["id"]
    change(hand, case, one, seq=0)
    change(hand, case, other, seq=one)
    change(hand, case, 0, seq=other)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, one, moved, "out of order")
    assert f"stood in place {other}" in finding.says


def test_two_entries_whose_contents_were_swapped_name_the_earlier(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    ids = [row(hand, case, seq)["id"] for seq in (4, 7)]
    change(hand, case, 4, id="aside")
    change(hand, case, 7, id=ids[0])
    change(hand, case, 4, id=ids[1])
    hand.commit()
    assert (found(engine, key).seq, found(engine, key).id, found(engine, key).wrong) == (4, ids[1], "altered")


def test_an_entry_appended_by_hand_is_named_although_it_follows_soundly(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    forged = chained(hand, case, ENTRIES + 1)
    insert(hand, forged)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id) == (case, ENTRIES + 1, forged["id"])
    assert finding.wrong == "inserted"


def test_an_entry_appended_with_any_hash_is_named(engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
    forged = chained(hand, case, ENTRIES + 1) | {"hash": "f" * 64}
    insert(hand, forged)
    hand.commit()
    assert (found(engine, key).id, found(engine, key).wrong) == (forged["id"], "inserted")


@pytest.mark.parametrize("seq", [2, 5, ENTRIES])
def test_an_entry_inserted_in_between_is_named_although_it_follows_soundly(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    forged = chained(hand, case, seq)
    renumber(hand, case, seq, 1)
    insert(hand, forged)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, seq, forged["id"], "inserted")


@pytest.mark.parametrize("seq", [0, -1, 99])
def test_an_entry_inserted_outside_the_numbers_is_named(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    forged = row(hand, case, 5) | {"id": new_id(), "seq": seq}
    insert(hand, forged)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).id) == (case, forged["id"])
    assert found(engine, key).wrong == "inserted"


def test_an_entry_of_a_case_that_never_was_is_named(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    forged = row(hand, case, 1) | {"id": new_id(), "case_id": "0"}
    insert(hand, forged)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).id, found(engine, key).wrong) == ("0", forged["id"], "no head")


def test_a_removed_head_is_found(engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
    hand.execute(text("DELETE FROM journal_head WHERE case_id = :case"), {"case": case})
    hand.commit()
    assert (found(engine, key).case, found(engine, key).wrong) == (case, "no head")


def test_the_newest_entry_removed_and_the_head_moved_back_is_found(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    remove(hand, case, ENTRIES)
    values = {"case": case, "seq": ENTRIES - 1, "hash": row(hand, case, ENTRIES - 1)["hash"]}
    hand.execute(text("UPDATE journal_head SET seq = :seq, hash = :hash WHERE case_id = :case"), values)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.wrong) == (case, ENTRIES - 1, "signature wrong")


@pytest.mark.parametrize("columns", ["seq = 9", "seq = 11", "hash = 'x'", "seq = 0"])
def test_an_altered_head_is_found(columns: str, engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
    hand.execute(text(f"UPDATE journal_head SET {columns} WHERE case_id = :case"), {"case": case})
    hand.commit()
    assert (found(engine, key).case, found(engine, key).wrong) == (case, "head altered")


@pytest.mark.parametrize("signature", ["", "no", "00" * 64])
def test_a_wrong_signature_is_found(
    signature: str, engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    values = {"case": case, "signature": signature}
    hand.execute(text("UPDATE journal_head SET signature = :signature WHERE case_id = :case"), values)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).wrong) == (case, "signature wrong")


def test_a_signature_of_another_case_does_not_fit(
    engine: Engine, key: ServerKey, cases: list[str], hand: Connection
) -> None:
    query = "UPDATE journal_head SET signature = (SELECT signature FROM journal_head WHERE case_id = :other)"
    hand.execute(text(query + " WHERE case_id = :case"), {"case": cases[1], "other": cases[0]})
    hand.commit()
    assert found(engine, key).wrong == "signature wrong"


def test_with_head_and_entry_altered_the_entry_is_named(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    change(hand, case, 4, body="{}")
    hand.execute(text("UPDATE journal_head SET signature = '' WHERE case_id = :case"), {"case": case})
    hand.commit()
    assert (found(engine, key).seq, found(engine, key).wrong) == (4, "altered")


def test_a_journal_rewritten_and_signed_with_a_key_of_ones_own_is_found_where_the_true_key_is_known(
    engine: Engine, key: ServerKey, cases: list[str], hand: Connection
) -> None:
    forger = ServerKey.generate()
    for case in cases:
        head = hand.execute(text("SELECT seq, hash FROM journal_head WHERE case_id = :case"), {"case": case}).one()
        values = {"case": case, "signature": forger.sign_head(case, head[0], head[1])}
        hand.execute(text("UPDATE journal_head SET signature = :signature WHERE case_id = :case"), values)
    hand.execute(text("UPDATE server_key SET public_key = :key"), {"key": forger.public.hex})
    hand.commit()
    assert found(engine, key).wrong == "other key"
    assert forger.public.fingerprint in found(engine, key).says
    assert verify(engine).clean  # without the key file nobody can tell, and the report says whose word was taken
    assert verify(engine).key_from == "database"


def test_only_the_public_key_in_the_database_altered_is_found(
    engine: Engine, key: ServerKey, case: str, hand: Connection
) -> None:
    hand.execute(text("UPDATE server_key SET public_key = :key"), {"key": ServerKey.generate().public.hex})
    hand.commit()
    assert found(engine, key).wrong == "key altered"
    report = verify(engine)
    assert report.finding is not None
    assert report.finding.wrong == "signature wrong"


def test_a_journal_without_any_key_asks_for_one(engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
    hand.execute(text("DELETE FROM server_key"))
    hand.commit()
    with pytest.raises(BadKey, match="--key"):
        verify(engine)
    assert verify(engine, PublicKey(key.public.hex)).clean


def test_guards_that_were_dropped_are_reported(engine: Engine, key: ServerKey, case: str, hand: Connection) -> None:
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
