"""The demo's night as a schedule: which post of which room is due when. Pure; `demo` plays it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from app.drill.department import tonight
from app.drill.moving import moved
from app.drill.player import ref_of
from app.drill.taps import Post, case_id, posts
from app.drill.values import Scenario

BETWEEN_CASES = timedelta(minutes=2)
"""How long a room stays empty before its next case is called."""


@dataclass(frozen=True, slots=True)
class CaseDue:
    """A case is to be made; its posts follow."""

    room: str
    case: str
    ref: str
    room_id: str | None


@dataclass(frozen=True, slots=True)
class PostDue:
    """A post of a room is to be sent. `past` when it lies before the demo's beginning: it arrived at its own time."""

    post: Post
    past: bool


@dataclass(slots=True)
class Stage:
    """One room: the file it plays, and how far it is.

    yields  True for a room that is left to the user: it never begins a second case
    """

    file: Scenario
    room: str
    yields: bool
    zone: ZoneInfo
    case: str = ""
    _waiting: list[Post] = field(default_factory=list)
    _again: datetime | None = None

    def begin(self, now: datetime) -> CaseDue:
        """Opens the first case, as far along as its file says."""
        return self._open(tonight(self.file, now, self.zone))

    def _open(self, scenario: Scenario) -> CaseDue:
        (handle,) = scenario.cases
        self.case = case_id(scenario, handle)
        self._waiting = list(reversed(posts(scenario)))
        self._again = None if self.yields else scenario.end + BETWEEN_CASES
        return CaseDue(self.room, self.case, ref_of(scenario, handle), scenario.cases[handle].room.get("id"))

    @property
    def next_at(self) -> datetime | None:
        """When something of this room is next due; None: never again."""
        return self._waiting[-1].received if self._waiting else self._again

    def take(self) -> CaseDue | Post:
        """What is due next. Call only when `next_at` is not None."""
        if self._waiting:
            return self._waiting.pop()
        assert self._again is not None
        return self._open(moved(self.file, self._again, self.zone))


class Night:
    """All rooms together. `due(now)` gives what must be sent by now, in order of time; each thing is given once."""

    def __init__(self, files: Sequence[Scenario], yours: str, now: datetime, zone: ZoneInfo) -> None:
        self.began = now.replace(microsecond=0)
        self.stages = []
        for file in files:
            (setup,) = file.cases.values()
            room = str(setup.room.get("name", setup.handle))
            self.stages.append(Stage(file, room, room == yours, zone))
        self._first = [stage.begin(self.began) for stage in self.stages]

    @property
    def cases(self) -> dict[str, str]:
        """Room -> id of the case it has now."""
        return {stage.room: stage.case for stage in self.stages}

    @property
    def next_at(self) -> datetime | None:
        """When something is next due."""
        if self._first:
            return self.began
        return min((at for stage in self.stages if (at := stage.next_at) is not None), default=None)

    def due(self, now: datetime) -> list[CaseDue | PostDue]:
        """Everything that is due by now."""
        found: list[CaseDue | PostDue] = list(self._first)
        self._first = []
        while (at := self.next_at) is not None and at <= now:
            stage = min((one for one in self.stages if one.next_at is not None), key=lambda one: one.next_at or now)
            what = stage.take()
            found.append(PostDue(what, what.received < self.began) if isinstance(what, Post) else what)
        return found
