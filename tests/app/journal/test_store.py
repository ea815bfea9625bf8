"""Reading the journal."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import Engine, text

from app.base.database import open_engine
from app.base.ids import new_id
from app.base.time import utc_now
from app.journal import store as journal
from app.journal.entry import Tap
from app.journal.writer import Writer

PATIENCE_S = 60


def test_a_case_that_was_never_made_has_no_entries_and_no_room(engine: Engine) -> None:
    assert journal.entries(engine, "none") == []
    assert journal.entry(engine, "none") is None
    assert journal.room_of(engine, "none") is None
    assert not journal.case_exists(engine, "none")
    assert (journal.open_cases(engine), journal.heads(engine), journal.case_count(engine)) == ([], [], 0)


def test_a_case_made_before_its_first_entry_exists(engine: Engine, writer: Writer) -> None:
    case = new_id()
    writer.create_case(case, "Bay 2", "R2").result(PATIENCE_S)
    assert journal.case_exists(engine, case)
    assert journal.entries(engine, case) == []
    (head,) = journal.heads(engine)
    assert (head.case, head.seq, head.ref, head.room_id, head.ended) == (case, 0, "Bay 2", "R2", False)
    assert abs(head.created_at - utc_now()) < timedelta(minutes=5)
    assert journal.room_of(engine, case) == "R2"


def test_cases_come_in_the_order_in_which_they_were_made(engine: Engine, writer: Writer) -> None:
    cases = [new_id() for _ in range(5)]
    for case in cases:
        writer.create_case(case).result(PATIENCE_S)
    assert journal.open_cases(engine) == cases
    assert [head.case for head in journal.heads(engine)] == cases
    assert [head.case for head in journal.heads(engine, cases[1:3])] == cases[1:3]
    assert journal.heads(engine, []) == []
    assert journal.case_count(engine) == 5


def test_cases_are_found_by_any_part_of_their_name_newest_first(engine: Engine, writer: Writer) -> None:
    names = ["Bay 1", "bay 2", "100% Bay_3", "Theatre"]
    for name in names:
        writer.create_case(new_id(), name).result(PATIENCE_S)
    assert [head.ref for head in journal.find_heads(engine, "BAY", 10)] == ["100% Bay_3", "bay 2", "Bay 1"]
    assert [head.ref for head in journal.find_heads(engine, "bay", 2)] == ["100% Bay_3", "bay 2"]
    assert [head.ref for head in journal.find_heads(engine, "%", 10)] == ["100% Bay_3"]
    assert [head.ref for head in journal.find_heads(engine, "y_", 10)] == ["100% Bay_3"]
    assert len(journal.find_heads(engine, "", 10)) == 4


def test_entries_of_one_case_are_read_by_its_index_however_many_others_there_are(sqlite_url: str) -> None:
    engine = open_engine(sqlite_url)
    with engine.connect() as connection:
        for query in (journal._ENTRIES, journal._ENTRY):
            plan = connection.execute(text(f"EXPLAIN QUERY PLAN {query}"), {"case": "a", "after": 0, "id": "x"}).all()
            assert all("USING INDEX" in row[3] and "SCAN" not in row[3] for row in plan), plan
    engine.dispose()


@pytest.mark.parametrize("after", [0, 1, 3, 4])
def test_reading_on_from_a_number_gives_what_came_after(
    after: int, engine: Engine, case: str, store: Callable[..., list[Any]], new_tap: Callable[..., Tap]
) -> None:
    store(*(new_tap(case) for _ in range(4)))
    assert [entry.seq for entry in journal.entries(engine, case, after)] == list(range(after + 1, 5))
