"""Lists of taps on their way to the writer, gathered turn by turn of the event loop.

What arrives in one turn goes over in one piece, is stored in one transaction and answered in one turn: passing work to
a thread and back costs more than storing a tap. So it arrived together, too: it has one moment of arrival, and the
rules judge it as one batch, live and whenever it is replayed (`judging.md`, Notices 1). A lone tap waits for nothing.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future
from typing import Any

from app.base.errors import DoorsideError
from app.base.moments import moment_text
from app.base.time import utc_now
from app.journal.entry import Tap
from app.journal.writer import BATCH_MAX, Outcome, Prepared, Writer

Facts = Callable[[Tap], Mapping[str, Any]]
Job = tuple[list[Prepared], asyncio.Future[list[Outcome]]]


class Intake:
    """Takes lists in on the event loop. `facts` says what the registers say of a tap now."""

    def __init__(self, writer: Writer, facts: Facts) -> None:
        self._writer, self._facts = writer, facts
        self._received = ""
        self._waiting: list[Job] = []

    async def store(self, taps: Sequence[Tap]) -> list[Outcome]:
        """Stores a list; answers for each once it is on disk. Raises Busy when the writer takes no more."""
        loop = asyncio.get_running_loop()
        if not self._waiting:
            self._received = moment_text(utc_now())
            loop.call_soon(self._hand_over, loop)
        prepared = [Prepared(tap, self._facts(tap), self._received) for tap in taps]
        answer: asyncio.Future[list[Outcome]] = loop.create_future()
        self._waiting.append((prepared, answer))
        return await answer

    def _hand_over(self, loop: asyncio.AbstractEventLoop) -> None:
        jobs, self._waiting = self._waiting, []
        together: list[Job] = []
        size = 0
        for job in jobs:
            if together and size + len(job[0]) > BATCH_MAX:
                self._submit(loop, together)
                together, size = [], 0
            together.append(job)
            size += len(job[0])
        self._submit(loop, together)

    def _submit(self, loop: asyncio.AbstractEventLoop, jobs: list[Job]) -> None:
        def stored(done: Future[list[Outcome]]) -> None:  # on the writer's thread
            if not loop.is_closed():
                loop.call_soon_threadsafe(_answer, jobs, done)

        try:
            self._writer.submit([one for prepared, _ in jobs for one in prepared]).add_done_callback(stored)
        except DoorsideError as error:
            for _, answer in jobs:
                if not answer.done():
                    answer.set_exception(error)


def _answer(jobs: list[Job], done: Future[list[Outcome]]) -> None:
    """Wakes everybody whose list was in the piece; who has hung up meanwhile has sent it all the same."""
    error = done.exception()
    outcomes = iter(() if error is not None else done.result())
    for prepared, answer in jobs:
        mine = [outcome for _, outcome in zip(prepared, outcomes, strict=False)]
        if answer.done():
            continue
        if error is not None:
            answer.set_exception(error)
        else:
            answer.set_result(mine)
