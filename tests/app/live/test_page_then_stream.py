"""For every kind of entry: a page that was loaded before it and then listened equals a page that is loaded after it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from app.base.ids import new_id
from app.case.vocabulary.registry import KINDS
from app.live.hub import ALL
from app.live.live import Live
from app.live.panels import PAGES
from tests.app.live.room import UTC_ZONE, Room, Screen
from tests.app.web.house import until

pytestmark = pytest.mark.anyio
GOLDEN = Path(__file__).parents[2] / "golden" / "entries"
SCENE: tuple[tuple[str, dict[str, Any]], ...] = (
    ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne"}),
    ("role.assign", {"TL": "P1", "AO": "P2", "DR": "P3"}),
    ("don.start", {"p": "P2", "ens": "airborne"}),
    ("room.in", {"p": "P2"}),
    ("req.new", {"q": "q1", "item": "bougie", "urg": "now"}),
)
"""What has happened before: enough that most kinds change something."""


def example(kind: str) -> dict[str, Any]:
    """A body of a kind, from its golden entry."""
    found = json.loads(sorted(GOLDEN.glob(f"{kind}.v*.json"))[-1].read_text("utf-8"))
    body = found.get("body", found.get("tap", {}).get("body"))
    assert isinstance(body, dict), kind
    return body


async def same_as_loaded_afterwards(room: Room, screens: list[Screen]) -> None:
    """The one proof: what a screen shows after its stream said nothing more is what a fresh page shows."""
    for screen in screens:
        await until(
            lambda screen=screen: screen.panels == room.fresh(screen),  # type: ignore[misc]
            f"{screen.topic.page} as a fresh page shows it",
        )
        topic = await room.live.topic(screen.topic.page, screen.topic.cases, "en")
        assert (topic.panels, topic.mark) == (screen.panels, screen.mark)


@pytest.mark.parametrize("kind", sorted(KINDS))
async def test_a_page_that_listened_equals_a_page_loaded_afterwards(room: Room, kind: str) -> None:
    await room.send(*(room.made(*one) for one in SCENE))
    screens = [await room.screen(page, *((ALL,) if page in ("outside", "board") else (room.case,))) for page in PAGES]
    body = example(kind)
    if "ref" in body and kind in ("tap.fix", "tap.void"):
        body = body | {"ref": room.live.cases.peek(room.case).record.entries[-1].tap.id}  # type: ignore[union-attr]
    await room.tap(kind, body)
    await same_as_loaded_afterwards(room, screens)
    record = next(screen for screen in screens if screen.topic.page == "case")
    assert len(record.messages) == 1, "every entry shows in the record, in one push"


async def test_screens_that_slept_or_came_back_equal_a_fresh_page_after_a_whole_case(room: Room) -> None:
    pages = [(page, (ALL,) if page in ("outside", "board") else (room.case,)) for page in PAGES]
    awake = [await room.screen(page, *cases) for page, cases in pages]
    asleep = [Screen(room.live.hub, screen.topic, slow=True) for screen in awake]
    left = [(screen.topic, screen.mark, dict(screen.panels)) for screen in awake]
    for one in SCENE:
        await room.tap(*one)
    for kind in sorted(set(KINDS) - {"case.close", "case.abort", "tap.fix", "tap.void"}):
        await room.tap(kind, example(kind), id=new_id())
    for screen in asleep:
        screen.drain()
    await same_as_loaded_afterwards(room, [*awake, *asleep])
    for topic, mark, panels in left:
        again = Screen(room.live.hub, topic, seen=mark)
        again.panels = {**panels, **again.panels}
        await same_as_loaded_afterwards(room, [again])


async def test_a_server_that_starts_anew_draws_the_record_as_the_one_before_it_did(room: Room) -> None:
    for one in SCENE:
        await room.tap(*one)
    screens = [await room.screen(page, room.case) for page in PAGES]
    again = Live(room.live.engine, room.key, UTC_ZONE)
    again.judge.open(again.cases.load_open())
    for screen in screens:
        assert again.drawing.page(screen.topic.page, again.seen((room.case,)), "en") == screen.panels, screen.topic.page


async def test_a_new_case_appears_on_pages_that_were_open_before_it(room: Room) -> None:
    screens = [await room.screen(page, ALL) for page in ("outside", "board")]
    case = await room.new_case("C2")
    await room.tap("case.open", {"ref": "NEWCOMER"}, case=case)
    await same_as_loaded_afterwards(room, screens)
    assert all("NEWCOMER" in "".join(screen.panels.values()) for screen in screens)


async def test_a_case_that_ends_leaves_the_board(room: Room) -> None:
    await room.tap("case.open", {"ref": "LEAVER"})
    board = await room.screen("board", ALL)
    assert "LEAVER" in board.panels["board"]
    await room.tap("case.close", {})
    await same_as_loaded_afterwards(room, [board])
    assert "LEAVER" not in board.panels["board"]
