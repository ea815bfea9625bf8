"""Plays the demo's night into a running server: what lies behind at once, the rest in real time, until it is stopped.

One thread. It writes through the server's own writer, like any station, so every page sees it by the usual road.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from itertools import takewhile
from typing import Any
from zoneinfo import ZoneInfo

from app.base.errors import Busy
from app.base.ids import new_id
from app.base.log import log
from app.base.moments import moment_text
from app.base.time import utc_now
from app.drill.department import YOURS, rooms
from app.drill.night import CaseDue, Night, PostDue
from app.drill.player import Journal, NotPlayed, prepared
from app.drill.taps import DESK, Post
from app.journal.entry import Tap
from app.journal.writer import Prepared

AGAIN_S = 1.0
"""How long the player waits when the writer takes nothing more [s]."""
LONGEST_WAIT_S = 30.0
"""A machine's clock may be set while it waits: it looks again at least this often [s]."""

OnCases = Callable[[Mapping[str, str]], object]


def start_demo(
    journal: Journal,
    *,
    zone: ZoneInfo,
    now: Callable[[], datetime] = utc_now,
    on_cases: OnCases | None = None,
) -> Demo:
    """Starts the night; gives it once all that lies before now is stored, so that first pages are full.

    journal   the server's writer, started
    zone      the hospital's
    on_cases  called with {room name: case id} when a room has a new case, on the player's thread (first: the caller's)
    Raises    NotPlayed when the writer refuses an entry, Busy when it is stopping
    """
    demo = Demo(journal, Night(rooms(), YOURS, now(), zone), now, on_cases)
    demo.start()
    return demo


class Demo:
    """A night that is being played. To begin again: `stop()`, `end_cases()`, `start_demo(...)`."""

    def __init__(
        self, journal: Journal, night: Night, now: Callable[[], datetime] = utc_now, on_cases: OnCases | None = None
    ) -> None:
        self._journal, self._night, self._now, self._on_cases = journal, night, now, on_cases
        self._due: deque[CaseDue | PostDue] = deque()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="demo-player", daemon=True)

    @property
    def cases(self) -> Mapping[str, str]:
        """Room name -> id of the case it has now."""
        return self._night.cases

    def start(self) -> None:
        """Stores what lies behind, then plays on a thread."""
        self.step()
        self._thread.start()

    def stop(self) -> None:
        """Plays nothing more and ends the thread. What is stored stays. May be called again."""
        self._stop.set()
        if self._thread.ident is not None and self._thread is not threading.current_thread():
            self._thread.join()

    def end_cases(self, why: str = "drill begun again") -> None:
        """Closes the cases that the night has now, so that the board is free for the next. After `stop()`."""
        moment = self._now()
        taps = [_closing(case, counter, moment, why) for counter, case in enumerate(self.cases.values(), start=1)]
        if taps:
            self._send(taps)

    def step(self) -> None:
        """Sends everything that is due by now. What the writer could not take stays due.

        Raises Busy when it took nothing more, NotPlayed when it refused an entry, which is then left out.
        """
        self._due.extend(self._night.due(self._now()))
        while self._due and not self._stop.is_set():
            if isinstance(first := self._due[0], CaseDue):
                self._journal.create_case(first.case, first.ref, first.room_id).result()
                self._due.popleft()
                if self._on_cases is not None:
                    self._on_cases(self.cases)
            else:
                self._send_posts(list(takewhile(lambda what: isinstance(what, PostDue), self._due)))

    def _send_posts(self, due: Sequence[CaseDue | PostDue]) -> None:
        """Sends posts as one list: an hour of the past is one transaction. Each entry keeps its own time of arrival."""
        sent = [one for what in due if isinstance(what, PostDue) for one in self._prepared(what)]
        try:
            self._send(sent)
        except NotPlayed:
            self._forget(len(due))
            raise
        self._forget(len(due))

    def _forget(self, count: int) -> None:
        for _ in range(count):
            self._due.popleft()

    def _prepared(self, due: PostDue) -> list[Prepared]:
        """A post of the past arrived in its own time, any other arrives now, which may be late."""
        received = due.post.received if due.past else max(self._now(), due.post.received)
        return prepared(Post(received, due.post.made))

    def _send(self, entries: list[Prepared]) -> None:
        refused: str | None = None
        for outcome in self._journal.submit(entries).result():
            if isinstance(outcome.error, Busy):
                raise outcome.error
            if outcome.status == "refused":
                refused = str(outcome.error or "")
        if refused is not None:
            raise NotPlayed("The journal refused an entry of the demo.", holds=refused)

    def _run(self) -> None:
        while not self._stop.is_set() and (at := self._night.next_at) is not None:
            self._stop.wait(min(max(0.0, (at - self._now()).total_seconds()), LONGEST_WAIT_S))
            try:
                self.step()
            except Busy:
                log.warning("the demo's player waits: the writer takes nothing more")
                self._stop.wait(AGAIN_S)
            except Exception:
                log.exception("the demo's player failed at one step and goes on")


def _closing(case: str, counter: int, moment: datetime, why: str) -> Prepared:
    body: dict[str, Any] = {"outcome": why}
    text = moment_text(moment)
    tap = Tap(new_id(), case, "case.close", body, DESK, 1_000_000 + counter, text, "CA", offset_ms=0, error_ms=0)
    return Prepared(tap, {}, text)
