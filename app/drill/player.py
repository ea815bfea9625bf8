"""Plays a scenario into a journal: its cases are made, its posts are written in order of arrival, or in a random one.

The player writes through the real writer and knows nothing else of the server, so what it leaves behind is what
stations would have left. Nothing here asks a clock: pace is waited for through a function that is handed in.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from datetime import timedelta
from random import Random
from typing import Any, Protocol

from app.base.errors import Busy, DoorsideError
from app.base.moments import moment_text
from app.drill.taps import Post, case_ids, posts
from app.drill.values import Scenario
from app.journal.writer import Outcome, Prepared

LAST_MICROSECOND = timedelta(microseconds=999_999)
_IN_FLIGHT_MOST = 64
_MIXED_MOST = 7


class Journal(Protocol):
    """What the player needs of a writer (`app.journal.writer.Writer`)."""

    def submit(self, prepared: Sequence[Prepared], /) -> Future[list[Outcome]]: ...

    def create_case(self, case: str, ref: str | None = None, room_id: str | None = None, /) -> Future[Any]: ...


class NotPlayed(DoorsideError):
    """An entry of the file was refused by the journal."""


def prepared(post: Post) -> list[Prepared]:
    """A post as the writer takes it."""
    received = moment_text(post.received)
    return [Prepared(made.tap, made.facts, received) for made in post.made]


def shuffled(scenario: Scenario, seed: int) -> tuple[Post, ...]:
    """The scenario's entries in a random order of arrival, in lists of random length, all arriving at the file's end.

    One moment of arrival for all: no entry may arrive before it happened, nor before the one that came first.
    """
    made = [one for post in posts(scenario) for one in post.made]
    chance = Random(seed)
    chance.shuffle(made)
    received = scenario.end + LAST_MICROSECOND
    found = []
    while made:
        size = chance.randint(1, _MIXED_MOST)
        found.append(Post(received, tuple(made[:size])))
        made = made[size:]
    return tuple(found)


def waits(arrivals: Sequence[Post], pace: float) -> Iterator[tuple[float, Post]]:
    """Each post with the seconds to wait before it [s]: the file's own times divided by the pace."""
    before = arrivals[0].received if arrivals else None
    for post in arrivals:
        assert before is not None
        yield max(0.0, (post.received - before).total_seconds()) / pace, post
        before = post.received


def play(
    scenario: Scenario,
    journal: Journal,
    *,
    shuffle: int | None = None,
    pace: float | None = None,
    wait: Callable[[float], object] | None = None,
) -> int:
    """Plays a whole scenario; gives how many entries of it are stored now.

    shuffle  seed of a random order of arrival; None: the file's own
    pace     times as fast as real time, above 0; None: at once
    wait     called with seconds [s] before each post when there is a pace
    Raises   NotPlayed when an entry is refused, Busy when the journal takes nothing more
    """
    for case, case_id in case_ids(scenario).items():
        journal.create_case(case_id, ref_of(scenario, case), scenario.cases[case].room.get("id")).result()
    arrivals = posts(scenario) if shuffle is None else shuffled(scenario, shuffle)
    flight: deque[Future[list[Outcome]]] = deque()
    stored = 0
    for seconds, post in waits(arrivals, pace or 1.0):
        if pace is not None and wait is not None:
            wait(seconds)
        if len(flight) >= _IN_FLIGHT_MOST:
            stored += _stored(flight.popleft())
        flight.append(_submit(journal, prepared(post), flight))
    return stored + sum(_stored(future) for future in flight)


def ref_of(scenario: Scenario, case: str) -> str:
    """The short text by which lists show the case."""
    setup = scenario.cases[case]
    words = (setup.room.get("name") or setup.opening.get("ref") or case, setup.opening.get("procedure"))
    return " · ".join(str(word) for word in words if word)


def _submit(journal: Journal, entries: list[Prepared], flight: deque[Future[list[Outcome]]]) -> Future[list[Outcome]]:
    """Hands one list over. When too much is waiting, waits until something of ours is stored and tries again, once."""
    try:
        return journal.submit(entries)
    except Busy:
        if not flight:
            raise
        flight[-1].result()
        return journal.submit(entries)


def _stored(future: Future[list[Outcome]]) -> int:
    outcomes = future.result()
    for outcome in outcomes:
        if outcome.status == "refused":
            raise NotPlayed("An entry of the file was refused.", holds=str(outcome.error or ""))
    return len(outcomes)
