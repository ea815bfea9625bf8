"""Each step of storing fails once before and once after it acted: a fault of the database, of the data, or of ours.

Whatever happens: nothing acknowledged is lost, the journal verifies, sending again stores each tap once, everything
that is stored was handed on, and the writer goes on.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import DisconnectionError, IntegrityError, OperationalError

from app.base.errors import Busy
from app.base.ids import new_id
from app.journal import store as journal
from app.journal.entry import Entry, Tap
from app.journal.keys import ServerKey
from app.journal.verify import verify
from app.journal.writer import Prepared, Writer

AT = "2026-11-03T14:10:01.000000Z"
PATIENCE_S = 60
NewTap = Callable[..., Tap]

TRANSACTION = ("connect", "begin", "read_heads", "find", "insert", "sign", "update_heads", "notify", "commit")
AFTERWARDS = ("answer", "tell")
FAULTS: dict[str, Callable[[], Exception]] = {
    "disk": lambda: OperationalError("COMMIT", {}, sqlite3.OperationalError("database or disk is full")),
    "line": lambda: DisconnectionError("the server went away"),
    "data": lambda: IntegrityError("INSERT", {}, sqlite3.IntegrityError("constraint failed")),
    "ours": lambda: ZeroDivisionError("a mistake in the program"),
}


class Desk:
    """A writer whose steps can be made to fail, and what it handed on."""

    def __init__(self, engine: Engine, key: ServerKey) -> None:
        self.told: list[Entry] = []
        self.engine, self.key = engine, key
        self.writer = Writer(engine, key, self.told.extend)
        self.writer.start()

    def break_step(
        self, patch: pytest.MonkeyPatch, step: str, when: str, fault: Callable[[], Exception], times: int
    ) -> list[int]:
        """Makes a step raise the next `times` times; gives the list that counts them."""
        of = self.writer if step in AFTERWARDS else self.writer.steps
        act = getattr(of, step)
        failed: list[int] = []

        def failing(*given: Any) -> Any:
            if len(failed) >= times:
                return act(*given)
            failed.append(1)
            if when == "after":
                act(*given)
            raise fault()

        patch.setattr(of, step, failing)
        return failed

    def send(self, taps: list[Tap]) -> list[str]:
        """Sends a list; gives its statuses, or `unanswered` for each."""
        future = self.writer.submit([Prepared(tap, {}, AT) for tap in taps])
        try:
            outcomes = future.result(PATIENCE_S)
        except Busy:
            return ["unanswered"] * len(taps)
        assert all(outcome.entry is not None or outcome.error is not None for outcome in outcomes)
        return [outcome.status for outcome in outcomes]

    def stored(self, case: str) -> list[str]:
        return [entry.tap.id for entry in journal.entries(self.engine, case)]


@pytest.fixture
def desk(engine: Engine, key: ServerKey) -> Iterator[Desk]:
    desk = Desk(engine, key)
    yield desk
    desk.writer.stop()


@pytest.fixture
def cases(desk: Desk) -> list[str]:
    cases = [new_id(), new_id()]
    for case in cases:
        desk.writer.create_case(case).result(PATIENCE_S)
    return cases


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", TRANSACTION + AFTERWARDS)
def test_a_step_that_fails_once_loses_nothing_and_doubles_nothing(
    step: str,
    when: str,
    fault: str,
    desk: Desk,
    cases: list[str],
    new_tap: NewTap,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    earlier = [new_tap(case) for case in cases]
    assert desk.send(earlier) == ["stored", "stored"]
    taps = [new_tap(case) for case in cases * 3]
    failed = desk.break_step(monkeypatch, step, when, FAULTS[fault], times=1)
    statuses = desk.send(taps)
    assert failed
    if step != "answer":
        assert set(statuses) == {"stored"}  # tried again at once, entry by entry
    assert verify(desk.engine, desk.key.public).clean
    again = desk.send(taps)
    assert set(again) == {"already"}
    for case in cases:
        assert desk.stored(case) == [tap.id for tap in earlier + taps if tap.case == case]
    assert verify(desk.engine, desk.key.public).clean
    desk.writer.stop()
    if not (step == "tell" and when == "before"):
        assert sorted(entry.tap.id for entry in desk.told) == sorted(tap.id for tap in earlier + taps)


@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", TRANSACTION)
def test_a_database_that_keeps_failing_refuses_with_busy_and_takes_everything_once_it_is_back(
    step: str, when: str, desk: Desk, cases: list[str], new_tap: NewTap, monkeypatch: pytest.MonkeyPatch
) -> None:
    taps = [new_tap(case) for case in cases * 3]
    with monkeypatch.context() as patch:
        failed = desk.break_step(patch, step, when, FAULTS["disk"], times=1000)
        outcomes = desk.writer.submit([Prepared(tap, {}, AT) for tap in taps]).result(PATIENCE_S)
        assert len(failed) == 2  # once for all, once for the first alone: then the database is known to fail
    assert {(outcome.status, type(outcome.error)) for outcome in outcomes} == {("refused", Busy)}
    assert verify(desk.engine, desk.key.public).clean
    assert set(desk.send(taps)) <= {"stored", "already"}
    for case in cases:
        assert sorted(desk.stored(case)) == sorted(tap.id for tap in taps if tap.case == case)
    assert verify(desk.engine, desk.key.public).clean
    desk.writer.stop()
    assert sorted(entry.tap.id for entry in desk.told) == sorted(tap.id for tap in taps)


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", ["connect", "begin", "sign", "create", "commit", "answer"])
def test_a_case_is_made_whatever_step_fails_once(
    step: str, when: str, fault: str, desk: Desk, new_tap: NewTap, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = new_id()
    assert desk.break_step(monkeypatch, step, when, FAULTS[fault], times=1) == []
    future = desk.writer.create_case(case, "Room 2")
    if step == "answer" and when == "before":
        with pytest.raises(Busy):
            future.result(PATIENCE_S)
    else:
        assert future.result(PATIENCE_S) in ("stored", "already")
    assert desk.send([new_tap(case)]) == ["stored"]
    assert verify(desk.engine, desk.key.public).clean


def test_a_sender_that_hung_up_harms_nobody(desk: Desk, cases: list[str], new_tap: NewTap) -> None:
    def hang_up(_: Any) -> None:
        raise RuntimeError("the event loop is closed")

    future = desk.writer.submit([Prepared(new_tap(cases[0]), {}, AT)])
    future.add_done_callback(hang_up)
    assert not future.cancel()
    assert desk.send([new_tap(cases[0])]) == ["stored"]
    assert len(desk.stored(cases[0])) == 2
