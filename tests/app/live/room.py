"""A live process, a case in it, and screens that show it: what tests of live pages are made of."""

from __future__ import annotations

import asyncio
import json
from collections.abc import MutableMapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from app.base.ids import new_id
from app.base.time import utc_now
from app.journal.entry import Tap
from app.journal.keys import ServerKey
from app.journal.writer import Outcome
from app.live.drawing import Drawing
from app.live.hub import Hub, Topic
from app.live.live import Live
from tests.app.web.house import until

UTC_ZONE = ZoneInfo("UTC")
_FRESH = Drawing(UTC_ZONE)
"""Keeps its templates, which take long to read, and none of what it has drawn."""


@dataclass
class Room:
    """A live process with a case. `tap` stores one entry and waits until pages know it."""

    live: Live
    key: ServerKey
    case: str = ""
    counter: int = 0
    began: datetime = field(default_factory=lambda: utc_now() - timedelta(minutes=30))

    async def new_case(self, ref: str, room: str | None = None) -> str:
        case = new_id()
        await self.live.make_case(case, ref, room)
        return case

    def made(self, kind: str, body: dict[str, Any], **other: Any) -> Tap:
        """A tap, one second after the one made before it."""
        self.counter += 1
        given: dict[str, Any] = {
            "id": new_id(), "case": self.case, "kind": kind, "body": body, "station": "tablet", "counter": self.counter,
            "device_at": (self.began + timedelta(seconds=self.counter)).isoformat(timespec="milliseconds"),
            "offset_ms": 0, "error_ms": 5,
        }  # fmt: skip
        return Tap(**(given | other))

    async def send(self, *taps: Tap) -> list[Outcome]:
        """Stores a list and waits until it is folded."""
        outcomes = await self.live.store(taps)
        assert [outcome.error for outcome in outcomes] == [None] * len(taps)
        for tap, outcome in zip(taps, outcomes, strict=True):
            live = await self.live.cases.get(tap.case)
            assert outcome.entry is not None
            seq = outcome.entry.seq
            await until(lambda live=live, seq=seq: live.last_seq >= seq, "an entry in the fold")  # type: ignore[misc]
        return outcomes

    async def tap(self, kind: str, body: dict[str, Any] | None = None, **other: Any) -> str:
        """Stores one tap; gives its id."""
        made = self.made(kind, body or {}, **other)
        await self.send(made)
        return made.id

    async def screen(self, page: str, *cases: str) -> Screen:
        """A page that is loaded and then listens."""
        topic = await self.live.topic(page, cases or (self.case,), "en")
        return Screen(self.live.hub, topic)

    def fresh(self, screen: Screen) -> dict[str, str]:
        """The page as somebody gets it who opens it now: nothing is taken from what was drawn before."""
        cases = screen.topic.cases
        _FRESH.forget()
        return _FRESH.page(screen.topic.page, self.live.seen(cases), "en")


class Screen:
    """A page with an open stream: its panels as loaded, then as each message changes them.

    slow  a screen whose line takes nothing until `drain()`
    """

    def __init__(self, hub: Hub, topic: Topic, *, slow: bool = False, seen: str | None = None) -> None:
        self.topic = topic
        self.panels = dict(topic.panels)
        self.mark = topic.mark if seen is None else seen
        self.messages: list[dict[str, str]] = []
        self.raw: list[bytes] = []
        self._open = asyncio.Event()
        if not slow:
            self._open.set()
        self.reader = hub.join(topic, self._take, self.mark)

    async def _take(self, message: MutableMapping[str, Any]) -> None:
        await self._open.wait()
        self.raw.append(message["body"])
        fields = dict(line.split(": ", 1) for line in message["body"].decode().strip().split("\n"))
        self.mark = fields.get("id", self.mark)
        if fields.get("event") == "panels":
            panels = json.loads(fields["data"])["panels"]
            self.messages.append(panels)
            self.panels.update(panels)

    def drain(self) -> None:
        """The line takes again."""
        self._open.set()

    def block(self) -> None:
        """The line takes nothing more for now."""
        self._open.clear()
