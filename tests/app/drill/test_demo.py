"""The demo's night: what is due when, and the thread that plays it."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Engine

from app.base.errors import Busy, Conflict
from app.base.moments import moment_text
from app.case.fold import fold
from app.drill.demo import Demo, start_demo
from app.drill.department import YOURS, rooms
from app.drill.night import BETWEEN_CASES, CaseDue, Night, PostDue
from app.drill.player import NotPlayed
from app.journal import store
from app.journal.entry import Entry
from app.journal.keys import ServerKey
from app.journal.writer import Writer
from tests.app.drill.test_player import Stubborn

ZONE = ZoneInfo("UTC")
PATIENCE_S = 60
"""How long the thread may take before the test says that it did nothing. Never a measure."""
START = datetime(2027, 1, 30, 22, 0, 0, 250_000, tzinfo=UTC)


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """One database is enough here."""
    return sqlite_url


class Clock:
    """A clock that moves when told."""

    def __init__(self, now: datetime = START) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


def night() -> Night:
    return Night(rooms(), YOURS, START, ZONE)


def demo_on(journal: Any, clock: Clock) -> Demo:
    return Demo(journal, night(), clock)


def test_at_the_start_every_room_gets_its_case_and_all_that_lies_behind_it() -> None:
    due = night().due(START)
    assert [one.room for one in due[:5] if isinstance(one, CaseDue)] == [
        "Room 1",
        "Room 2",
        "Room 3",
        "Room 4",
        "Room 5",
    ]
    behind = [one for one in due[5:] if isinstance(one, PostDue)]
    assert all(one.past and one.post.received < START for one in behind)
    assert [one.post.received for one in behind] == sorted(one.post.received for one in behind)
    assert len(behind) > 100


def test_nothing_is_due_twice_and_the_rest_comes_in_its_own_time() -> None:
    tonight = night()
    tonight.due(START)
    assert tonight.due(START) == []
    next_at = tonight.next_at
    assert next_at is not None
    assert START < next_at < START + timedelta(seconds=10)
    (soon,) = tonight.due(next_at)
    assert isinstance(soon, PostDue)
    assert not soon.past


def test_a_room_whose_case_has_ended_begins_another_after_a_pause() -> None:
    tonight = night()
    tonight.due(START)
    before = dict(tonight.cases)
    in_room_3 = rooms()[2]
    (setup,) = in_room_3.cases.values()
    ends = START.replace(microsecond=0) + timedelta(minutes=50)  # Room 3 is 19 minutes in and closes at 69:00
    assert in_room_3.end - setup.t0 == timedelta(minutes=69)
    assert not any(isinstance(one, CaseDue) for one in tonight.due(ends))
    again = [one for one in tonight.due(ends + BETWEEN_CASES) if isinstance(one, CaseDue)]
    assert [one.room for one in again] == ["Room 3"]
    assert tonight.cases["Room 3"] != before["Room 3"]
    assert tonight.cases["Room 1"] == before["Room 1"]


def test_the_users_room_is_never_played_on() -> None:
    tonight = night()
    yours = tonight.cases[YOURS]
    tonight.due(START)
    for due in tonight.due(START + timedelta(hours=12)):
        case = due.case if isinstance(due, CaseDue) else due.post.made[0].tap.case
        assert case != yours
    assert tonight.cases[YOURS] == yours


def test_a_night_never_ends() -> None:
    tonight = night()
    tonight.due(START + timedelta(days=3))
    assert tonight.next_at is not None


def test_a_demo_starts_with_five_cases_in_the_journal_and_goes_on(writer: Writer, engine: Engine) -> None:
    clock, seen = Clock(), []
    demo = Demo(writer, night(), clock, lambda cases: seen.append(dict(cases)))
    demo.step()
    counted = {room: len(store.entries(engine, case)) for room, case in demo.cases.items()}
    assert min(counted.values()) >= 5
    assert len(seen) == 5
    clock.on(seconds=30)
    demo.step()
    later = {room: len(store.entries(engine, case)) for room, case in demo.cases.items()}
    assert later["Room 1"] > counted["Room 1"]
    assert later["Room 2"] > counted["Room 2"]
    assert later[YOURS] == counted[YOURS]
    heads = {head.case: head for head in store.heads(engine)}
    assert heads[demo.cases["Room 3"]].room_id == "room-3"


def test_what_was_played_before_now_arrived_then_and_what_comes_arrives_when_it_is_sent(
    writer: Writer, engine: Engine
) -> None:
    clock = Clock()
    demo = Demo(writer, night(), clock)
    demo.step()
    behind = len(store.entries(engine, demo.cases["Room 2"]))
    clock.on(minutes=3)  # the lid was shut
    demo.step()
    arrivals = [entry.received for entry in store.entries(engine, demo.cases["Room 2"])]
    assert arrivals == sorted(arrivals)
    assert all(at < START for at in arrivals[:behind])
    assert set(arrivals[behind:]) == {clock.now}
    state = fold("c", store.entries(engine, demo.cases["Room 2"]))
    assert state.attempts[1].started < clock.now - timedelta(seconds=50)  # it happened when it happened


def test_what_the_writer_could_not_take_is_sent_again() -> None:
    journal = Stubborn(Busy("Too much is waiting."))
    demo = demo_on(journal, Clock())
    with pytest.raises(Busy):
        demo.step()
    assert journal.lists == []
    demo.step()
    assert len(journal.lists) == 1
    assert journal.lists[0][0] == "case.open"


def test_what_the_journal_refuses_is_left_out_and_the_night_goes_on() -> None:
    journal, clock = Stubborn(Conflict("Another entry is stored.")), Clock()
    demo = demo_on(journal, clock)
    with pytest.raises(NotPlayed, match="Another entry is stored"):
        demo.step()
    clock.on(seconds=30)
    demo.step()
    assert len(journal.lists) == 2


def test_cases_can_be_ended_for_a_new_beginning(writer: Writer, engine: Engine) -> None:
    clock = Clock()
    demo = Demo(writer, night(), clock)
    demo.step()
    before = dict(demo.cases)
    demo.stop()
    demo.end_cases()
    for case in before.values():
        closed = fold(case, store.entries(engine, case)).closed_at
        assert closed is not None
        assert moment_text(closed) == moment_text(clock.now)
    clock.on(seconds=5)
    again = Demo(writer, Night(rooms(), YOURS, clock.now, ZONE), clock)
    again.step()
    assert set(again.cases.values()).isdisjoint(before.values())
    assert set(store.open_cases(engine)) == set(again.cases.values())


class Racing(Clock):
    """A clock on which five seconds pass between one look and the next, so that nothing is waited for."""

    def __call__(self) -> datetime:
        self.on(seconds=5)
        return self.now


def test_a_started_demo_plays_on_its_own_thread_until_it_is_stopped(engine: Engine, key: ServerKey) -> None:
    played_on, started = threading.Event(), threading.Event()

    def committed(entries: list[Entry]) -> None:
        if started.is_set() and any(entry.tap.case == demo.cases["Room 2"] for entry in entries):
            played_on.set()

    writer = Writer(engine, key, committed)
    writer.start()
    demo = start_demo(writer, zone=ZONE, now=Racing())
    started.set()
    assert played_on.wait(PATIENCE_S)
    demo.stop()
    demo.stop()
    assert not any(thread.name == "demo-player" for thread in threading.enumerate())
    stored = len(store.entries(engine, demo.cases["Room 2"]))
    writer.stop()
    assert len(store.entries(engine, demo.cases["Room 2"])) == stored
