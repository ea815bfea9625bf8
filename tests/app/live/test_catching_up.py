"""A list that says `more`: stored and shown at once, judged with the rest of what its station had."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path

import pytest

from app.base.database import open_engine
from app.base.time import utc_now
from app.case.rules.judge import status
from app.journal import store
from app.journal.entry import Tap
from app.journal.keys import ServerKey, register
from app.live.live import Live
from tests.app.live.room import UTC_ZONE, Room
from tests.app.web.house import until

pytestmark = pytest.mark.anyio


@pytest.fixture
async def rooms(anyio_backend: str, database_url: str, tmp_path: Path) -> AsyncIterator[list[Room]]:
    """Server processes on one database with one case: two that share a PostgreSQL, one on SQLite."""
    made: list[Room] = []
    key = ServerKey.generate()
    for _ in range(2 if database_url.startswith("postgresql") else 1):
        engine = open_engine(database_url)
        if not made:
            register(engine, key)
        made.append(Room(Live(engine, key, UTC_ZONE), key))
        await made[-1].live.start()
    case = await made[0].new_case("C1")
    for room in made:
        room.case = case
        await room.live.cases.get(case)
    yield made
    for room in made:
        await room.live.stop()


async def send(room: Room, *taps: Tap, more: bool) -> None:
    outcomes = await room.live.store(taps, more=more)
    assert [outcome.status for outcome in outcomes] == ["stored"] * len(taps), "acknowledged at once"


async def shown(rooms: list[Room], count: int) -> None:
    """Waits until every process has folded so many entries."""
    for room in rooms:
        live = room.live.cases.peek(room.case)
        assert live is not None
        await until(lambda live=live: live.last_seq == count, "all entries in the fold")  # type: ignore[misc]


def rules(room: Room) -> list[str]:
    return [life.notice.rule for life in room.live.notices(room.case)]


async def test_lists_of_one_catching_up_are_judged_together_by_every_process_and_after_a_new_start(
    rooms: list[Room], database_url: str
) -> None:
    first, last = rooms[0], rooms[-1]
    await send(first, first.made("case.open", {"ref": "C1", "procedure": "intubation"}), more=False)
    asked = first.made("req.new", {"q": "q1", "item": "pump", "urg": "now"})
    answered = [first.made(kind, {"q": "q1"}) for kind in ("req.ack", "req.got")]
    breach = first.made("breach", {"p": "P1", "grade": "major"})
    await send(first, asked, more=True)
    await shown(rooms, 2)
    for room in rooms:
        state = room.live.cases.peek(room.case)
        assert state is not None
        assert "q1" in state.state.requests, "pages show it while the rules wait"
        assert rules(room) == []
    await send(last, *answered, breach, more=False)
    await shown(rooms, 5)
    for room in rooms:
        assert "R24" in rules(room)
        assert "R43" not in rules(room)
    entries = store.entries(first.live.engine, first.case)
    assert [entry.facts.get("more") for entry in entries] == [None, True, None, None, None]
    anew = Live(open_engine(database_url), first.key, UTC_ZONE)
    await anew.start()
    lived = [(life.notice, life.raised) for life in first.live.notices(first.case)]
    assert [(life.notice, life.raised) for life in anew.notices(first.case)] == lived
    assert [(life.notice, life.raised) for life in status({first.case: entries}, utc_now())] == lived
    await anew.stop()


async def test_when_the_rest_does_not_come_the_timer_judges_what_there_is(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    await room.tap("case.open", {"ref": "C1", "procedure": "intubation"})
    monkeypatch.setattr("app.live.judge.utc_now", lambda: utc_now() + timedelta(seconds=11))
    screen = await room.screen("outside")
    await send(room, room.made("breach", {"p": "P1", "grade": "major"}), more=True)
    await until(lambda: "R24" in rules(room), "the notice")
    await until(lambda: "P1" in screen.panels["door_notices"], "the notice on a page that was open")


async def test_a_case_that_is_closed_in_the_first_of_two_lists_ends_with_what_the_second_says(room: Room) -> None:
    await room.tap("case.open", {"ref": "C1", "procedure": "intubation"})
    await send(room, room.made("req.new", {"q": "q1", "item": "pump", "urg": "now"}), more=True)
    closing = room.made("case.close", {"ref": "C1"}, device_at=utc_now().isoformat(timespec="milliseconds"))
    await send(room, closing, more=True)
    await until(lambda: bool(room.live.cases.peek(room.case).ended), "the end")  # type: ignore[union-attr]
    assert rules(room) == []
    await send(room, room.made("breach", {"p": "P1", "grade": "major"}), more=False)
    await until(lambda: {"R24", "R43"} <= set(rules(room)), "what both lists brought")
    assert not room.live.judge.knows(room.case), "and then it is judged no more"
