"""Sending without a task: a message to a reader that keeps up leaves here and now.

A send that never waits needs no task, and two hundred tasks a push would cost more than the push. One that has to wait
has already run up to its first wait; it is finished as a task from there.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Coroutine, Generator, MutableMapping
from typing import Any, cast

Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]


class _Resume(Awaitable[None]):
    """Goes on with a coroutine that has already run up to its first wait."""

    def __init__(self, coroutine: Coroutine[Any, Any, None], waits_for: Any) -> None:
        self._coroutine, self._waits_for = coroutine, waits_for

    def __await__(self) -> Generator[Any, Any, None]:
        waits_for = self._waits_for
        while True:
            try:
                value = yield waits_for
            except BaseException as error:
                try:
                    waits_for = self._coroutine.throw(error)
                except StopIteration:
                    return
            else:
                try:
                    waits_for = self._coroutine.send(value)
                except StopIteration:
                    return


async def _finish(coroutine: Coroutine[Any, Any, None], waits_for: Any) -> None:
    await _Resume(coroutine, waits_for)


def start_now(sending: Awaitable[None]) -> asyncio.Task[None] | None:
    """Runs a coroutine at once; only one that has to wait becomes a task."""
    coroutine = cast(Coroutine[Any, Any, None], sending)  # every server and every layer of ours sends by `async def`
    try:
        waits_for = coroutine.send(None)
    except StopIteration:
        return None
    except Exception:  # the connection went away: its own handler sees that and ends the reader
        return None
    return asyncio.get_running_loop().create_task(_finish(coroutine, waits_for))
