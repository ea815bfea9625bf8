"""A case that has ended: what comes late is judged, and one whose closing was a mistake is judged as if it had not been."""

from __future__ import annotations

import pytest

from app.base.database import open_engine
from app.base.time import utc_now
from app.case.rules.day import Life
from app.case.rules.judge import status
from app.journal import store
from app.live.live import Live
from tests.app.live.room import UTC_ZONE, Room

pytestmark = pytest.mark.anyio
OPENED = ("case.open", {"ref": "C1", "procedure": "intubation"})
BREACH = ("breach", {"p": "P1", "grade": "major"})


def standing(lives: tuple[Life, ...]) -> list[str]:
    return sorted(life.notice.rule for life in lives if life.corrected is None)


def rules(room: Room) -> list[str]:
    return standing(room.live.notices(room.case))


def read_again(room: Room) -> list[str]:
    entries = store.entries(room.live.engine, room.case)
    return standing(status({room.case: entries}, utc_now()))


async def test_a_closing_that_is_taken_back_brings_the_notices_back_and_new_ones_are_raised(room: Room) -> None:
    await room.send(room.made(*OPENED), room.made(*BREACH))
    closing = await room.tap("case.close", {"ref": "C1"})
    assert not room.live.judge.knows(room.case)
    await room.tap("tap.void", {"ref": closing})
    assert rules(room) == ["R24"]
    await room.tap("breach", {"p": "P2", "grade": "major"})
    assert rules(room) == ["R24", "R24"] == read_again(room)
    await room.tap("case.close", {"ref": "C1"})
    assert not room.live.judge.knows(room.case)


async def test_a_closing_of_before_a_new_start_is_taken_back_like_any_other(room: Room, sqlite_url: str) -> None:
    await room.send(room.made(*OPENED), room.made("req.new", {"q": "q1", "item": "pump", "urg": "now"}))
    closing = await room.tap("case.close", {"ref": "C1"})
    await room.live.stop()
    room.live = Live(open_engine(sqlite_url), room.key, UTC_ZONE)
    await room.live.start()
    await room.live.cases.get(room.case)
    assert not room.live.judge.knows(room.case)
    await room.tap("tap.void", {"ref": closing})
    assert rules(room) == ["R43", "R43"] == read_again(room)
    await room.tap(*BREACH)
    assert rules(room) == ["R24", "R43", "R43"]


async def test_what_comes_late_to_a_case_that_has_ended_is_judged_as_when_its_journal_is_read_again(room: Room) -> None:
    await room.send(room.made(*OPENED))
    late = room.made(*BREACH)
    await room.tap("case.close", {"ref": "C1"})
    assert "R24" not in rules(room)
    await room.send(late)
    assert "R24" in rules(room)
    assert rules(room) == read_again(room)
