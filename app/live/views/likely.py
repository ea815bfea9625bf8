"""What is likely wanted next, where it is kept and who comes: shown at the door, never sent by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.lookahead import likely_next
from app.live.now import CaseNow
from app.live.views.taps import READY, Offer


@dataclass(frozen=True, slots=True)
class Coming:
    """One thing that is likely next in a room.

    ready     makes it ready at the door; ready_at: since when it is
    ask       asks for it on the room's behalf, where that may be
    """

    room: str
    item: str
    kept: str
    comes: str
    ready: Offer
    ready_at: datetime | None
    ask: Offer | None


@dataclass(frozen=True, slots=True)
class Ahead:
    """What is likely next in one room, since when, and who comes with it."""

    room: str
    since: datetime
    comes: str
    things: tuple[Coming, ...]

    @property
    def left(self) -> tuple[Coming, ...]:
        """What was not made ready yet."""
        return tuple(one for one in self.things if one.ready_at is None)


@dataclass(frozen=True, slots=True)
class LikelyView:
    """By room, the room where something happened last first."""

    rooms: tuple[Ahead, ...]

    @property
    def coming(self) -> tuple[Coming, ...]:
        """Everything in one list."""
        return tuple(one for room in self.rooms for one in room.things)

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> LikelyView:
        found = [ahead for case in cases if (ahead := _ahead(case)) is not None]
        return cls(tuple(sorted(found, key=lambda one: one.since, reverse=True)))


def _ahead(case: CaseNow) -> Ahead | None:
    offers = [one for one in likely_next(case.state, case.protocol) if one.asked is None]
    if not offers:
        return None
    made = {
        getattr(h.body, "name", ""): h.at for h in case.state.all("local.done") if h.at >= offers[0].since
    }  # what was made ready for an earlier moment has gone in, or was put back
    things = tuple(
        Coming(
            case.room,
            one.item,
            one.kept or "",
            one.comes or "",
            Offer("local.done", N_("Ready"), case.id, {"name": READY + one.item}),
            made.get(READY + one.item),
            Offer("req.new", N_("The room wants it"), case.id, {"item": one.item, "urg": "now", "from": "look-ahead"})
            if one.one_tap
            else None,
        )
        for one in offers
    )
    return Ahead(case.room, offers[0].since, offers[0].comes or "", things)
