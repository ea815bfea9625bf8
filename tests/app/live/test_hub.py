"""The hub: the first push at once, bursts gathered, nobody cut off, and coming back by mark."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, MutableMapping
from typing import Any

import pytest

from app.live.hub import ALL, BURST, GATHER_S, TOPICS_KEPT, Hub, Topic
from tests.app.live.room import Screen
from tests.app.web.house import until

pytestmark = pytest.mark.anyio


class Shown:
    """Panels by name, as a test wants them drawn."""

    def __init__(self) -> None:
        self.panels = {"one": "1", "two": "2"}
        self.drawn = 0
        self.broken: str | None = None

    def draw(self, topic: Topic) -> dict[str, str]:
        self.drawn += 1
        if topic.page == self.broken:
            raise RuntimeError("cannot be drawn")
        return {name: f"{html} {' '.join(topic.cases)}" for name, html in self.panels.items()}


@pytest.fixture
def shown() -> Shown:
    return Shown()


@pytest.fixture
async def hub(anyio_backend: str, shown: Shown) -> AsyncIterator[Hub]:
    hub = Hub(shown.draw)
    hub.start()
    yield hub
    await hub.stop()


async def turns(count: int = 6) -> None:
    """Lets what is ready to run have its turn; waits for no time."""
    for _ in range(count):
        await asyncio.sleep(0)


def change(hub: Hub, shown: Shown, html: str, *cases: str) -> None:
    shown.panels["one"] = html
    hub.changed(cases or ("A",))


async def test_a_screen_that_is_up_to_date_gets_no_panel_when_it_joins(hub: Hub, shown: Shown) -> None:
    screen = Screen(hub, hub.topic("inside", ("A",), "en"))
    assert screen.messages == []
    assert screen.raw == [f"id: {screen.topic.mark}\n: whole\n\n".encode()]


async def test_the_first_push_leaves_at_once(hub: Hub, shown: Shown) -> None:
    screen = Screen(hub, hub.topic("inside", ("A",), "en"))
    change(hub, shown, "new")
    await until(lambda: len(screen.messages) > 0, "the push")
    assert screen.messages == [{"one": "new A"}]


async def test_a_burst_is_gathered_into_few_pushes(hub: Hub, shown: Shown) -> None:
    """However slow the machine: at most one push in the time that a burst is gathered for, and the newest in the end."""
    screen, clock = Screen(hub, hub.topic("inside", ("A",), "en")), asyncio.get_running_loop().time
    change(hub, shown, "0")
    await until(lambda: screen.panels["one"] == "0 A", "the first push")
    drawn, begun = shown.drawn, clock()
    for number in range(1, 400):
        for part in range(2 * BURST):
            change(hub, shown, f"{number}.{part}")
        await turns(1)
    change(hub, shown, "last")
    await until(lambda: screen.panels["one"] == "last A", "the newest panel")
    most = 3 + (clock() - begun) / GATHER_S
    assert len(screen.messages) - 1 <= most
    assert shown.drawn - drawn <= most


async def test_changes_of_one_turn_are_one_push(hub: Hub, shown: Shown) -> None:
    screen = Screen(hub, hub.topic("inside", ("A",), "en"))
    for number in range(10):
        change(hub, shown, str(number))
    await until(lambda: len(screen.messages) > 0, "the push")
    assert screen.messages == [{"one": "9 A"}]


async def test_a_panel_that_looks_as_before_is_not_pushed(hub: Hub, shown: Shown) -> None:
    screen, drawn = Screen(hub, hub.topic("inside", ("A",), "en")), shown.drawn
    hub.changed(["A"])
    await until(lambda: shown.drawn > drawn, "the drawing")
    change(hub, shown, "new")
    await until(lambda: len(screen.messages) > 0, "the push")
    assert screen.messages == [{"one": "new A"}]


async def test_a_change_of_another_case_draws_nothing(hub: Hub, shown: Shown) -> None:
    screen, other = (Screen(hub, hub.topic("inside", (case,), "en")) for case in "AB")
    drawn = shown.drawn
    change(hub, shown, "new", "B")
    await until(lambda: len(other.messages) > 0, "the push")
    assert (screen.messages, shown.drawn) == ([], drawn + 1)


async def test_every_screen_of_a_topic_gets_the_same_bytes_drawn_once(hub: Hub, shown: Shown) -> None:
    topic = hub.topic("inside", ("A",), "en")
    screens = [Screen(hub, topic) for _ in range(50)]
    drawn = shown.drawn
    change(hub, shown, "new")
    await until(lambda: all(screen.messages for screen in screens), "the push")
    assert shown.drawn == drawn + 1
    assert {screen.raw[-1] for screen in screens} == {screens[0].raw[-1]}
    assert len({id(screen.raw[-1]) for screen in screens}) == 1


async def test_a_slow_reader_gets_one_message_with_the_newest_of_everything(hub: Hub, shown: Shown) -> None:
    topic = hub.topic("inside", ("A",), "en")
    slow, quick = Screen(hub, topic, slow=True), Screen(hub, topic)
    for number in range(20):
        shown.panels["two"] = f"two {number}"
        change(hub, shown, str(number))
        await until(lambda number=number: quick.panels["one"] == f"{number} A", "the push")  # type: ignore[misc]
    waiting = [task for task in asyncio.all_tasks() if "_finish" in repr(task)]
    assert len(waiting) == 1, "twenty pushes wait as one"
    slow.drain()
    await until(lambda: slow.panels == quick.panels, "the slow screen up to date")
    assert slow.messages == [{"one": "19 A", "two": "two 19 A"}]
    assert slow.mark == quick.mark


async def test_a_slow_reader_gets_only_what_changed_while_it_was_busy(hub: Hub, shown: Shown) -> None:
    topic = hub.topic("inside", ("A",), "en")
    slow, quick = Screen(hub, topic), Screen(hub, topic)
    slow.block()
    for html in ("sent", "missed"):
        change(hub, shown, html)
        await until(lambda html=html: quick.panels["one"] == f"{html} A", "the push")  # type: ignore[misc]
    slow.drain()
    await until(lambda: slow.panels == quick.panels, "the slow screen up to date")
    assert slow.messages == [{"one": "sent A"}, {"one": "missed A"}]


async def test_a_screen_that_comes_back_gets_just_the_panels_that_differ(hub: Hub, shown: Shown) -> None:
    topic = hub.topic("inside", ("A",), "en")
    left = topic.mark
    change(hub, shown, "new")
    again = Screen(hub, hub.topic("inside", ("A",), "en"), seen=left)
    assert again.messages == [{"one": "new A"}]


@pytest.mark.parametrize(
    "mark", ["", "nonsense", "ffffffff.0", ".", "1.2.3", "\u0663", "{token}.x", "{token}.-1", "{token}." + "9" * 30]
)
async def test_a_screen_with_a_mark_that_nobody_knows_gets_every_panel(hub: Hub, mark: str) -> None:
    topic = hub.topic("inside", ("A",), "en")
    again = Screen(hub, topic, seen=mark.replace("{token}", topic.token))
    assert again.messages == [topic.panels]


async def test_the_mark_of_a_server_that_was_restarted_brings_every_panel(hub: Hub, shown: Shown) -> None:
    before = Hub(shown.draw).topic("inside", ("A",), "en").mark
    assert Screen(hub, hub.topic("inside", ("A",), "en"), seen=before).messages == [{"one": "1 A", "two": "2 A"}]


async def test_stopping_ends_every_stream(hub: Hub) -> None:
    screens = [
        Screen(hub, hub.topic(page, ("A",), "en"), slow=page == "inside") for page in ("inside", "outside", "board")
    ]
    await hub.stop()
    assert all(screen.reader.ended.done() for screen in screens)
    assert hub.stopping


async def test_a_page_of_all_cases_hears_of_a_case_that_is_new(hub: Hub, shown: Shown) -> None:
    screen = Screen(hub, hub.topic("board", (ALL,), "en"))
    change(hub, shown, "a new case", "never seen before")
    await until(lambda: len(screen.messages) > 0, "the push")
    assert screen.messages == [{"one": "a new case *"}]


async def test_a_page_that_cannot_be_drawn_keeps_no_other_from_its_push(hub: Hub, shown: Shown) -> None:
    bad, good = (Screen(hub, hub.topic(page, ("A",), "en")) for page in ("inside", "outside"))
    shown.broken = "inside"
    change(hub, shown, "new")
    await until(lambda: len(good.messages) > 0, "the push")
    assert (bad.messages, good.messages) == ([], [{"one": "new A"}])
    shown.broken = None
    hub.changed(["A"])
    await until(lambda: bad.panels == good.panels, "the page that can be drawn again")


async def test_a_line_that_fails_ends_that_stream_alone(hub: Hub, shown: Shown) -> None:
    topic = hub.topic("inside", ("A",), "en")
    blocked = asyncio.Event()

    async def fails(_: MutableMapping[str, Any]) -> None:
        await blocked.wait()
        raise ConnectionError

    reader, good = hub.join(topic, fails, topic.mark), Screen(hub, topic)
    blocked.set()
    await until(reader.ended.done, "the end of the broken line")
    change(hub, shown, "new")
    await until(lambda: len(good.messages) > 0, "the push")
    assert good.messages == [{"one": "new A"}]


async def test_a_reader_that_left_gets_nothing_more(hub: Hub, shown: Shown) -> None:
    topic = hub.topic("inside", ("A",), "en")
    screen, other = Screen(hub, topic), Screen(hub, topic)
    hub.leave(screen.reader)
    change(hub, shown, "new")
    await until(lambda: len(other.messages) > 0, "the push")
    assert screen.messages == []


async def test_a_topic_without_readers_is_drawn_only_when_somebody_asks(hub: Hub, shown: Shown) -> None:
    topic, other = hub.topic("inside", ("A",), "en"), Screen(hub, hub.topic("outside", ("A",), "en"))
    drawn = shown.drawn
    change(hub, shown, "new")
    await until(lambda: len(other.messages) > 0, "the push")
    assert shown.drawn == drawn + 1
    assert hub.topic("inside", ("A",), "en") is topic
    assert topic.panels["one"] == "new A"


async def test_a_heartbeat_goes_to_idle_readers_alone(hub: Hub) -> None:
    topic = hub.topic("inside", ("A",), "en")
    idle, busy = Screen(hub, topic), Screen(hub, topic, slow=True)
    for screen in (idle, busy):
        screen.reader.beat()
    busy.drain()
    await turns()
    assert (len(idle.raw), len(busy.raw)) == (2, 1)
    assert idle.raw[-1] == b"event: beat\ndata: 1\n\n"
    assert idle.mark == topic.mark


async def test_topics_that_nobody_reads_are_forgotten_and_those_with_readers_are_not(hub: Hub) -> None:
    kept = Screen(hub, hub.topic("inside", ("kept",), "en"))
    for number in range(TOPICS_KEPT + 50):
        hub.topic("inside", (f"case {number}",), "en")
    assert hub.topic("inside", ("kept",), "en") is kept.topic
    assert len(hub._topics) <= TOPICS_KEPT


async def test_a_screen_that_joins_between_a_change_and_its_push_misses_nothing(hub: Hub, shown: Shown) -> None:
    first = Screen(hub, hub.topic("inside", ("A",), "en"))
    change(hub, shown, "new")
    second = Screen(hub, hub.topic("inside", ("A",), "en"))
    await until(lambda: first.panels == second.panels, "the push")
    assert first.panels == second.panels == {"one": "new A", "two": "2 A"}
    assert first.mark == second.mark
