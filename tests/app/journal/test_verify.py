"""Tampering with entries in the database itself: each is found and the first bad one is named."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import Engine

from app.base.ids import new_id
from app.journal.chains import Finding
from app.journal.entry import Tap
from app.journal.keys import ServerKey
from app.journal.rows import row_hash
from app.journal.verify import Report, verify
from app.journal.writer import Writer

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
    seq: int, columns: dict[str, Any], engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    hand.change(case, seq, **columns)
    id_ = hand.row(case, seq)["id"]
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, seq, id_, "altered")


@pytest.mark.parametrize("seq", [1, 5, ENTRIES])
def test_an_altered_entry_with_its_hash_made_to_fit_is_named(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    forged = hand.row(case, seq) | {"body": '{"spo2":98}'}
    hand.change(case, seq, body=forged["body"], hash=row_hash(forged))
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, seq, forged["id"], "altered")


def test_the_newest_entry_removed_is_named(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.remove(case, ENTRIES)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, ENTRIES, None, "newest removed")


def test_the_newest_three_removed_name_the_first_of_them(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.remove(case, 8, 9, 10)
    hand.commit()
    assert (found(engine, key).seq, found(engine, key).wrong) == (8, "newest removed")


def test_all_entries_of_a_case_removed_is_found(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.remove(case, *range(1, ENTRIES + 1))
    hand.commit()
    assert (found(engine, key).case, found(engine, key).seq, found(engine, key).wrong) == (case, 1, "newest removed")


@pytest.mark.parametrize("seq", [1, 5])
def test_an_entry_removed_from_the_middle_is_named(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    hand.remove(case, seq)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).seq, found(engine, key).wrong) == (case, seq, "missing")


def test_an_entry_removed_and_the_rest_moved_up_is_named(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    hand.remove(case, 5)
    hand.renumber(case, 6, -1)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).seq, found(engine, key).wrong) == (case, 5, "missing")


@pytest.mark.parametrize(("one", "other"), [(5, 6), (1, ENTRIES), (3, 8)])
def test_two_swapped_entries_name_the_earlier_place(
    one: int, other: int, engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    moved = hand.row(case, other)["id"]
    hand.change(case, one, seq=0)
    hand.change(case, other, seq=one)
    hand.change(case, 0, seq=other)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, one, moved, "out of order")
    assert f"stood in place {other}" in finding.says


def test_two_entries_whose_contents_were_swapped_name_the_earlier(
    engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    ids = [hand.row(case, seq)["id"] for seq in (4, 7)]
    hand.change(case, 4, id="aside")
    hand.change(case, 7, id=ids[0])
    hand.change(case, 4, id=ids[1])
    hand.commit()
    assert (found(engine, key).seq, found(engine, key).id, found(engine, key).wrong) == (4, ids[1], "altered")


def test_an_entry_appended_by_hand_is_named_although_it_follows_soundly(
    engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    forged = hand.chained(case, ENTRIES + 1)
    hand.insert(forged)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id) == (case, ENTRIES + 1, forged["id"])
    assert finding.wrong == "inserted"


def test_an_entry_appended_with_any_hash_is_named(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    forged = hand.chained(case, ENTRIES + 1) | {"hash": "f" * 64}
    hand.insert(forged)
    hand.commit()
    assert (found(engine, key).id, found(engine, key).wrong) == (forged["id"], "inserted")


@pytest.mark.parametrize("seq", [2, 5, ENTRIES])
def test_an_entry_inserted_in_between_is_named_although_it_follows_soundly(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    forged = hand.chained(case, seq)
    hand.renumber(case, seq, 1)
    hand.insert(forged)
    hand.commit()
    finding = found(engine, key)
    assert (finding.case, finding.seq, finding.id, finding.wrong) == (case, seq, forged["id"], "inserted")


@pytest.mark.parametrize("seq", [0, -1, 99])
def test_an_entry_inserted_outside_the_numbers_is_named(
    seq: int, engine: Engine, key: ServerKey, case: str, hand: Hand
) -> None:
    forged = hand.row(case, 5) | {"id": new_id(), "seq": seq}
    hand.insert(forged)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).id) == (case, forged["id"])
    assert found(engine, key).wrong == "inserted"


def test_an_entry_of_a_case_that_never_was_is_named(engine: Engine, key: ServerKey, case: str, hand: Hand) -> None:
    forged = hand.row(case, 1) | {"id": new_id(), "case_id": "0"}
    hand.insert(forged)
    hand.commit()
    assert (found(engine, key).case, found(engine, key).id, found(engine, key).wrong) == ("0", forged["id"], "no head")
