"""Lists of taps on their way to the writer, gathered while it is at work.

What arrives in one turn of the event loop, or while the writer stores what came before, goes over in one piece, is
stored in one transaction and answered in one turn: passing work to a thread and back costs more than storing a tap. So
it arrived together, too: it has one moment of arrival, and the rules judge it as one batch, live and whenever it is
replayed (`judging.md`, Notices 1). A lone tap waits for nothing.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future
from typing import Any

from app.base.errors import DoorsideError
from app.base.moments import moment_text
from app.base.time import utc_now
from app.case.rules.catching_up import MORE
from app.journal.entry import Tap
from app.journal.writer import BATCH_MAX, WAITING_MAX, Outcome, Prepared, Writer, busy

Facts = Callable[[Tap], Mapping[str, Any]]
Job = tuple[list[tuple[Tap, Mapping[str, Any]]], asyncio.Future[list[Outcome]]]
"""A list, each tap with its facts, and who waits for it."""


class Intake:
    """Takes lists in on the event loop. `facts` says what the registers say of a tap now."""

    def __init__(self, writer: Writer, facts: Facts) -> None:
        self._writer, self._facts = writer, facts
        self._waiting: list[Job] = []
        self._count = 0  # taps among them
        self._away = 0  # pieces that the writer has not answered yet

    @property
    def busy(self) -> bool:
        """Whether more is on its way to the disk, or waits for it."""
        return bool(self._away or self._waiting)

    async def store(self, taps: Sequence[Tap], *, more: bool = False) -> list[Outcome]:
        """Stores a list; answers for each once it is on disk. Raises Busy when the writer takes no more.

        more  the station had more than fits one list: each entry is marked so, and the rules wait for the rest
        """
        loop = asyncio.get_running_loop()
        if self._count and self._count + len(taps) > WAITING_MAX:
            raise busy("More is waiting to be stored than the server can take just now.")
        if not self._waiting and not self._away:
            loop.call_soon(self._hand_over, loop)
        facts = self._marked if more else self._facts
        answer: asyncio.Future[list[Outcome]] = loop.create_future()
        self._waiting.append(([(tap, facts(tap)) for tap in taps], answer))
        self._count += len(taps)
        return await answer

    def _marked(self, tap: Tap) -> dict[str, Any]:
        return {**self._facts(tap), MORE: True}

    def _hand_over(self, loop: asyncio.AbstractEventLoop) -> None:
        jobs, self._waiting, self._count = self._waiting, [], 0
        received = moment_text(utc_now())
        together: list[Job] = []
        size = 0
        for job in jobs:
            if together and size + len(job[0]) > BATCH_MAX:
                self._submit(loop, together, received)
                together, size = [], 0
            together.append(job)
            size += len(job[0])
        self._submit(loop, together, received)

    def _submit(self, loop: asyncio.AbstractEventLoop, jobs: list[Job], received: str) -> None:
        def stored(done: Future[list[Outcome]]) -> None:  # on the writer's thread
            if not loop.is_closed():
                loop.call_soon_threadsafe(self._answered, loop, jobs, done)

        try:
            piece = [Prepared(tap, facts, received) for taps, _ in jobs for tap, facts in taps]
            self._writer.submit(piece).add_done_callback(stored)
            self._away += 1
        except DoorsideError as error:
            for _, answer in jobs:
                if not answer.done():
                    answer.set_exception(error)

    def _answered(self, loop: asyncio.AbstractEventLoop, jobs: list[Job], done: Future[list[Outcome]]) -> None:
        """Gives the writer what has gathered before anybody is woken: it need not wait for the fold."""
        self._away -= 1
        if self._waiting and not self._away:
            self._hand_over(loop)
        _answer(jobs, done)


def _answer(jobs: list[Job], done: Future[list[Outcome]]) -> None:
    """Wakes everybody whose list was in the piece; who has hung up meanwhile has sent it all the same."""
    error = done.exception()
    outcomes = iter(() if error is not None else done.result())
    for taps, answer in jobs:
        mine = [outcome for _, outcome in zip(taps, outcomes, strict=False)]
        if answer.done():
            continue
        if error is not None:
            answer.set_exception(error)
        else:
            answer.set_result(mine)
