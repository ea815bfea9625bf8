"""The writer's thread: its queue, its order of answers, and what it does beside other writers."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import Any

import pytest
from sqlalchemy import Engine, event

from app.base.errors import Busy, NotValid
from app.base.ids import new_id
from app.journal import store as journal
from app.journal.entry import Entry, Tap
from app.journal.keys import ServerKey
from app.journal.verify import verify
from app.journal.writer import Outcome, Prepared, Writer

AT = "2026-11-03T14:10:01.000000Z"
PATIENCE_S = 60
NewTap = Callable[..., Tap]
Store = Callable[..., list[Outcome]]


def test_the_queue_is_bounded_and_says_busy(engine: Engine, key: ServerKey, new_tap: NewTap) -> None:
    writer = Writer(engine, key, waiting_max=10)  # not started: everything waits
    case = new_id()
    writer.create_case(case)
    kept = writer.submit([Prepared(new_tap(case), {}, AT) for _ in range(9)])
    with pytest.raises(Busy, match="sent again by itself"):
        writer.submit([Prepared(new_tap(case), {}, AT)])
    writer.start()
    assert {outcome.status for outcome in kept.result(PATIENCE_S)} == {"stored"}
    writer.stop()
    assert len(journal.entries(engine, case)) == 9


def test_stopping_stores_what_waits_and_takes_nothing_more(engine: Engine, key: ServerKey, new_tap: NewTap) -> None:
    writer = Writer(engine, key)
    case = new_id()
    writer.create_case(case)
    futures = [writer.submit([Prepared(new_tap(case), {}, AT)]) for _ in range(600)]
    writer.start()
    writer.stop()
    writer.stop()
    assert all(future.done() and future.result()[0].status == "stored" for future in futures)
    with pytest.raises(Busy):
        writer.submit([Prepared(new_tap(case), {}, AT)])
    assert len(journal.entries(engine, case)) == 600


def test_senders_are_answered_before_the_others_are_told(engine: Engine, key: ServerKey, new_tap: NewTap) -> None:
    order: list[str] = []
    told: list[Entry] = []
    done = threading.Event()

    def on_commit(entries: list[Entry]) -> None:
        order.append("told")
        told.extend(entries)
        if len(told) == 2:
            done.set()

    writer = Writer(engine, key, on_commit)
    case = new_id()
    writer.create_case(case)
    first = new_tap(case)
    futures = [writer.submit([Prepared(tap, {}, AT)]) for tap in (first, first, new_tap(case))]
    for future in futures:
        future.add_done_callback(lambda _: order.append("answered"))
    writer.start()
    assert done.wait(PATIENCE_S)
    writer.stop()
    assert order == ["answered", "answered", "answered", "told"]
    assert told == journal.entries(engine, case)  # the tap sent twice was told once


def test_lists_that_gathered_are_stored_in_one_transaction(
    engine: Engine, key: ServerKey, new_tap: NewTap, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = Writer(engine, key)
    cases = [new_id() for _ in range(4)]
    for case in cases:
        writer.create_case(case)
    futures = [writer.submit([Prepared(new_tap(case), {}, AT)]) for case in cases * 16]
    commits: list[Any] = []
    commit = writer.steps.commit
    monkeypatch.setattr(writer.steps, "commit", lambda transaction: (commits.append(1), commit(transaction)))
    writer.start()
    assert {future.result(PATIENCE_S)[0].status for future in futures} == {"stored"}
    writer.stop()
    assert len(commits) == len(cases) + 1


def test_the_writer_keeps_its_connection_until_something_goes_wrong_in_it(
    engine: Engine, key: ServerKey, new_tap: NewTap, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[Any] = []
    event.listen(engine, "checkout", lambda *_: taken.append(1))
    writer, case = Writer(engine, key), new_id()
    writer.start()
    writer.create_case(case).result(PATIENCE_S)
    for _ in range(3):
        writer.submit([Prepared(new_tap(case), {}, AT)]).result(PATIENCE_S)
    assert len(taken) == 1
    insert, failed = writer.steps.insert, []

    def fail_once(connection: Any, rows: Any) -> None:
        insert(connection, rows)
        if not failed:
            failed.append(1)
            raise ZeroDivisionError

    monkeypatch.setattr(writer.steps, "insert", fail_once)
    (outcome,) = writer.submit([Prepared(new_tap(case), {}, AT)]).result(PATIENCE_S)
    assert (outcome.status, len(taken)) == ("stored", 2)
    writer.stop()
    assert engine.pool.checkedout() == 0  # type: ignore[attr-defined]
    assert [entry.seq for entry in journal.entries(engine, case)] == [1, 2, 3, 4]


def test_an_entry_that_the_database_refuses_takes_no_other_with_it(
    engine: Engine, key: ServerKey, case: str, new_tap: NewTap, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = Writer(engine, key)
    insert = writer.steps.insert

    def refuse_notes(connection: Any, rows: Sequence[dict[str, Any]]) -> None:
        if any(row["kind"] == "note" for row in rows):
            connection.run("INSERT INTO journal_entry (id) VALUES (NULL)")
        insert(connection, rows)

    monkeypatch.setattr(writer.steps, "insert", refuse_notes)
    kinds = ["vitals", "note", "vitals", "note", "vitals"]
    future = writer.submit([Prepared(new_tap(case, kind=kind), {}, AT) for kind in kinds])
    writer.start()
    outcomes = future.result(PATIENCE_S)
    writer.stop()
    assert [outcome.status for outcome in outcomes] == ["stored", "refused", "stored", "refused", "stored"]
    assert isinstance(outcomes[1].error, NotValid)
    assert [entry.seq for entry in journal.entries(engine, case)] == [1, 2, 3]
    assert verify(engine, key.public).clean


def test_another_writer_on_the_same_case_does_not_break_the_chain(
    engine: Engine, key: ServerKey, case: str, new_tap: NewTap
) -> None:
    writers = [Writer(engine, key) for _ in range(3)]
    taps = [[new_tap(case, station=f"s{n}") for _ in range(60)] for n in range(3)]
    for writer in writers:
        writer.start()
    futures = [
        writer.submit([Prepared(tap, {}, AT)])
        for row in zip(*taps, strict=True)
        for writer, tap in zip(writers, row, strict=True)
    ]
    assert {future.result(PATIENCE_S)[0].status for future in futures} == {"stored"}
    for writer in writers:
        writer.stop()
    stored = journal.entries(engine, case)
    assert sorted(entry.tap.id for entry in stored) == sorted(tap.id for row in taps for tap in row)
    assert verify(engine, key.public).clean
