"""The server says by itself when the door can see a room no more, and when it can again."""

from __future__ import annotations

import asyncio

import pytest

from app.base.moments import parse_moment
from app.journal import store
from app.journal.entry import Entry
from app.live.contact import GONE_S, SERVER
from app.protocol.library import protocol_for
from tests.app.live.room import Room
from tests.app.web.house import until

pytestmark = pytest.mark.anyio
INSIDE = (("case.open", {"ref": "C1", "procedure": "intubation"}), ("don.start", {"p": "P2"}), ("room.in", {"p": "P2"}))


def told(room: Room) -> list[Entry]:
    return [one for one in store.entries(room.live.engine, room.case) if one.tap.kind.startswith("net.")]


async def kinds(room: Room, *wanted: str) -> None:
    """Waits until the server has said just this of the room's line, and it is folded."""
    await until(lambda: [one.tap.kind for one in told(room)] == list(wanted), f"{wanted} in the journal")
    last = told(room)[-1].seq
    await until(lambda: room.live.cases.peek(room.case).last_seq >= last, "its fold")  # type: ignore[union-attr]


@pytest.fixture
async def watched(room: Room) -> Room:
    """A room with somebody inside whose screens are missed at once."""
    room.live.contact.gone_s = 0.0
    await room.send(*(room.made(*one) for one in INSIDE))
    return room


async def test_a_room_whose_last_screen_is_gone_is_out_of_contact_since_that_moment(watched: Room) -> None:
    contact = watched.live.contact
    contact.joined(watched.case, "Tablet 4")
    contact.left(watched.case, "Tablet 4")
    await kinds(watched, "net.down")
    (down,) = told(watched)
    assert (down.tap.body, down.tap.station) == ({"device": "Tablet 4"}, SERVER)
    assert parse_moment(down.tap.device_at) <= down.received
    assert watched.live.cases.peek(watched.case).state.link_lost.keys() == {"Tablet 4"}  # type: ignore[union-attr]


async def test_a_screen_that_is_back_says_what_waited_on_it_and_how_far_its_clock_is_off(watched: Room) -> None:
    contact = watched.live.contact
    contact.joined(watched.case, "Tablet 4")
    contact.left(watched.case, "Tablet 4")
    await kinds(watched, "net.down")
    contact.joined(watched.case, "Tablet 4", 13, 3.4)
    await kinds(watched, "net.down", "net.up")
    assert told(watched)[-1].tap.body == {"device": "Tablet 4", "queued": 13, "skew_s": 3.4}
    assert not watched.live.cases.peek(watched.case).state.link_lost  # type: ignore[union-attr]


async def test_another_screen_of_the_room_ends_it_too(watched: Room) -> None:
    contact = watched.live.contact
    contact.joined(watched.case, "Tablet 4")
    contact.left(watched.case, "Tablet 4")
    await kinds(watched, "net.down")
    contact.joined(watched.case, "Tablet 5")
    await kinds(watched, "net.down", "net.up")
    assert told(watched)[-1].tap.body["device"] == "Tablet 4", "what was lost is what is back"


async def test_a_room_with_a_second_screen_is_not_out_of_contact(watched: Room) -> None:
    contact = watched.live.contact
    contact.joined(watched.case, "Tablet 4")
    contact.joined(watched.case, "Tablet 5")
    contact.left(watched.case, "Tablet 4")
    contact.joined(watched.case, "Tablet 4")
    contact.left(watched.case, "Tablet 5")
    await asyncio.sleep(0)
    await watched.tap("note", {"text": "goes through the same queue after it"})
    assert told(watched) == []


async def test_with_nobody_inside_a_closed_page_is_nothing_to_say(room: Room) -> None:
    room.live.contact.gone_s = 0.0
    await room.tap("case.open", {"ref": "C1"})
    room.live.contact.joined(room.case, "Tablet 4")
    room.live.contact.left(room.case, "Tablet 4")
    await asyncio.sleep(0)
    await room.tap("note", {"text": "goes through the same queue after it"})
    assert told(room) == []


async def test_a_line_that_is_back_soon_was_never_lost(watched: Room) -> None:
    contact = watched.live.contact
    contact.gone_s = GONE_S
    for _ in range(3):  # a reload, and another
        contact.joined(watched.case, "Tablet 4")
        contact.left(watched.case, "Tablet 4")
    contact.joined(watched.case, "Tablet 4")
    await watched.tap("note", {"text": "goes through the same queue after it"})
    assert told(watched) == []


async def test_a_process_that_has_the_screen_answers_one_that_thinks_it_lost(watched: Room) -> None:
    watched.live.contact.joined(watched.case, "Tablet 4")
    await watched.tap("net.down", {"device": "Tablet 4"}, station=SERVER)
    await kinds(watched, "net.down", "net.up")


def test_a_loss_is_written_before_its_notice_is_due() -> None:
    (limit,) = protocol_for("intubation", "adult").rules["R59"].thresholds.values()
    assert limit > GONE_S
