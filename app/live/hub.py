"""Pushes changed panels to every screen that shows them.

A *topic* is what one page shows: page, cases, language. Its panels are drawn once and the same bytes go to all screens
on it. The first push leaves at once. What follows is gathered, each topic for itself: as long as its last drawing took
while taps come singly (a longer wait would only make each push late), up to 50 ms after the last push in a burst. One
topic is drawn a turn of the loop, so that answers to taps leave in between. A reader that is slow gets no queue: while
its last message is still on the way newer ones are only noted, and then it gets every panel that has changed since.

Each topic counts its own changes. A message says the count up to which it is whole (`token.count`); a screen that comes
back says the last one it saw and gets just the panels that changed after it, whole. An unknown token gets all of them.
"""

from __future__ import annotations

import asyncio
import secrets
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from pydantic_core import to_json

from app.base.log import log
from app.live.sending import Send, start_now

Draw = Callable[["Topic"], dict[str, str]]
Key = tuple[str, tuple[str, ...], str]

GATHER_S = 0.05
GATHER_LEAST_S = 0.002
BURST = 4
"""So many changes of a topic while it waits for its next push are a burst: that is above 1,000 a second."""
HEARTBEAT_S = 5.0
LIFE_S = 3600.0
TOPICS_KEPT = 400
ALL = "*"
"""Stands for every case that has not ended, so that a new one appears on pages that were open before it."""
BEAT = b"event: beat\ndata: 1\n\n"
"""An event, not a comment: a page is told of it, and knows a line that hangs from one that has nothing to say."""


@dataclass(slots=True)
class Topic:
    """What one page shows of some cases in one language, with its panels as last drawn.

    pushed_at, took_s  when it was last pushed, by the loop's clock, and how long drawing and pushing took
    changes            since it was last drawn
    """

    page: str
    cases: tuple[str, ...]
    language: str
    token: str = field(default_factory=lambda: secrets.token_hex(4))
    count: int = 0
    panels: dict[str, str] = field(default_factory=dict)
    changed_at: dict[str, int] = field(default_factory=dict)
    readers: set[Reader] = field(default_factory=set)
    fresh: bool = False
    pushed_at: float = float("-inf")
    took_s: float = 0.0
    changes: int = 0

    @property
    def key(self) -> Key:
        return (self.page, self.cases, self.language)

    @property
    def mark(self) -> str:
        """How far a page is that shows this topic as it stands."""
        return f"{self.token}.{self.count}"

    def since(self, mark: str) -> dict[str, str]:
        """The panels that differ from what a page with this mark shows."""
        token, _, count = mark.partition(".")
        seen = int(count) if token == self.token and count.isdecimal() and len(count) < 12 else -1
        return {name: html for name, html in self.panels.items() if self.changed_at[name] > seen}

    def take(self, drawn: dict[str, str]) -> dict[str, str]:
        """Takes a new drawing over and gives what changed."""
        changed = {name: html for name, html in drawn.items() if self.panels.get(name) != html}
        if changed:
            self.count += 1
            self.panels.update(changed)
            self.changed_at.update(dict.fromkeys(changed, self.count))
        self.fresh = True
        return changed

    def message(self, panels: dict[str, str]) -> bytes:
        """A server-sent event with some panels, whole."""
        return b"id: %b\nevent: panels\ndata: %b\n\n" % (self.mark.encode(), to_json({"panels": panels}))


class Reader:
    """One open stream. Never queues: it is either idle or has exactly one message on the way."""

    __slots__ = ("_send", "_task", "behind", "ended", "topic")

    def __init__(self, topic: Topic, send: Send) -> None:
        self.topic = topic
        self._send = send
        self._task: asyncio.Task[None] | None = None
        self.behind: str | None = None
        self.ended: asyncio.Future[None] = asyncio.get_running_loop().create_future()

    def push(self, message: bytes, mark_before: str) -> None:
        """Sends now, or remembers from where this reader must be brought up to date."""
        if self.ended.done():
            return
        if self._task is not None:
            self.behind = self.behind or mark_before
            return
        self._start(message)

    def beat(self) -> None:
        """Shows that the line stands; a busy reader needs no showing."""
        if self._task is None and not self.ended.done():
            self._start(BEAT)

    def end(self) -> None:
        """Lets the stream close."""
        if not self.ended.done():
            self.ended.set_result(None)

    def _start(self, message: bytes) -> None:
        task = start_now(self._send({"type": "http.response.body", "body": message, "more_body": True}))
        if task is not None:
            self._task = task
            task.add_done_callback(self._sent)

    def _sent(self, task: asyncio.Task[None]) -> None:
        self._task = None
        if task.cancelled() or task.exception() is not None:
            self.end()
        elif self.behind is not None and not self.ended.done():
            mark, self.behind = self.behind, None
            if panels := self.topic.since(mark):
                self._start(self.topic.message(panels))

    async def close(self) -> None:
        """Waits for nothing: a message still on the way is given up."""
        if self._task is not None:
            self._task.cancel()


class Hub:
    """All topics. Lives on the event loop; `draw` gives a topic's panels as they should look now."""

    def __init__(self, draw: Draw) -> None:
        self._draw = draw
        self._topics: dict[Key, Topic] = {}
        self._by_case: dict[str, set[Key]] = {}
        self._waiting: dict[Key, asyncio.Handle | None] = {}  # changed and watched; None: its turn has come
        self._ready: deque[Key] = deque()
        self._beat: asyncio.Task[None] | None = None
        self.stopping = False

    def start(self) -> None:
        self._beat = asyncio.get_running_loop().create_task(self._beats())

    async def stop(self) -> None:
        """Ends every stream, so that the server can stop while screens are connected."""
        self.stopping = True
        if self._beat is not None:
            self._beat.cancel()
        for topic in self._topics.values():
            for reader in list(topic.readers):
                reader.end()

    def topic(self, page: str, cases: tuple[str, ...], language: str) -> Topic:
        """The topic of a page, drawn as it stands now."""
        key = (page, cases, language)
        topic = self._topics.pop(key, None) or Topic(page, cases, language)
        self._topics[key] = topic  # last in, last out
        for case in cases:
            self._by_case.setdefault(case, set()).add(key)
        if not topic.fresh:
            self._renew(topic)
        self._forget()
        return topic

    def _forget(self) -> None:
        idle = [key for key, topic in self._topics.items() if not topic.readers]
        for key in idle[: max(0, len(self._topics) - TOPICS_KEPT)]:
            del self._topics[key]
            for case in key[1]:
                self._by_case.get(case, set()).discard(key)

    def join(self, topic: Topic, send: Send, seen: str) -> Reader:
        """A stream joins a topic and gets what differs from what its page shows."""
        if not topic.fresh:  # it changed while the stream was being opened
            self._renew(topic)
        reader = Reader(topic, send)
        topic.readers.add(reader)
        panels = topic.since(seen)
        reader.push(topic.message(panels) if panels else f"id: {topic.mark}\n: whole\n\n".encode(), topic.mark)
        return reader

    def leave(self, reader: Reader) -> None:
        reader.topic.readers.discard(reader)

    def changed(self, cases: Iterable[str]) -> None:
        """Some cases have changed: the topics that show them are drawn and pushed soon."""
        for key in {key for case in (*cases, ALL) for key in self._by_case.get(case, ())}:
            topic = self._topics[key]
            topic.fresh = False
            topic.changes += 1
            if topic.readers and key not in self._waiting:  # the others are drawn when somebody asks
                gather = max(GATHER_LEAST_S, min(topic.took_s, GATHER_S))
                self._wait(key, topic.pushed_at + gather)

    def _wait(self, key: Key, until: float) -> None:
        """Lets a topic be drawn at a moment of the loop's clock."""
        loop = asyncio.get_running_loop()
        if (wait := until - loop.time()) > 0:
            self._waiting[key] = loop.call_later(wait, self._due, key)
        else:  # two turns later: the answer to the tap leaves first, and taps of the same moment share one drawing
            self._waiting[key] = loop.call_soon(self._due, key)

    def _due(self, key: Key) -> None:
        topic, loop = self._topics.get(key), asyncio.get_running_loop()
        if topic is not None and topic.changes >= BURST and loop.time() < topic.pushed_at + GATHER_S:
            topic.changes = 0  # gathered long enough at its next turn, however many there are by then
            self._waiting[key] = loop.call_later(topic.pushed_at + GATHER_S - loop.time(), self._take_turn, key)
        else:
            self._take_turn(key)

    def _take_turn(self, key: Key) -> None:
        self._waiting[key] = None
        self._ready.append(key)
        if len(self._ready) == 1:
            asyncio.get_running_loop().call_soon(self._next)

    def _next(self) -> None:
        """Draws and pushes one topic; what comes in meanwhile is served before the next."""
        key = self._ready[0]
        topic = self._topics.get(key)
        self._waiting.pop(key, None)
        if topic is not None and topic.readers and not topic.fresh:
            try:
                self._renew(topic)
            except Exception:
                log.exception("a page could not be drawn", extra={"page": topic.page})
        self._ready.popleft()
        if self._ready:
            asyncio.get_running_loop().call_soon(self._next)

    def _renew(self, topic: Topic) -> None:
        """Draws a topic as it stands now and pushes what differs."""
        loop = asyncio.get_running_loop()
        begun, before = loop.time(), topic.mark
        if (handle := self._waiting.pop(topic.key, None)) is not None:
            handle.cancel()
        topic.changes = 0
        changed = topic.take(self._draw(topic))
        if changed and topic.readers:
            message = topic.message(changed)
            for reader in list(topic.readers):
                reader.push(message, before)
            topic.pushed_at = loop.time()
            topic.took_s = topic.pushed_at - begun

    async def _beats(self) -> None:
        while True:
            await asyncio.sleep(HEARTBEAT_S)
            for topic in list(self._topics.values()):
                for reader in list(topic.readers):
                    reader.beat()
