"""What the clean side still has to make ready, case by case: plan, room, brief; later the way and the air.

Trays have a panel of their own (`trays`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.live.now import CaseNow
from app.live.views.next import PERSONAL
from app.live.views.taps import Offer, offer


@dataclass(frozen=True, slots=True)
class RoomReady:
    """One case's taps of the clean side, those of its stage first; anytime: what may come whenever it does."""

    room: str
    todo: tuple[Offer, ...]
    done: tuple[Offer, ...]
    anytime: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class ReadyView:
    """Gaps first."""

    rooms: tuple[RoomReady, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> ReadyView:
        rooms = []
        for case in cases:
            ids = [stage.id for stage in case.protocol.phases]
            here = ids.index(case.phase.id)
            taps = [
                (place, offer(case.id, case.state, m))
                for place, stage in enumerate(case.protocol.phases)
                for m in stage.milestones
                if m.side == "outside" and m.spine and m.kind not in PERSONAL and m.kind != "kit.staged"
            ]
            # What belongs to a later stage is not asked for yet; what was left out earlier still is.
            todo = tuple(tap for place, tap in taps if tap.done_at is None and place <= max(here, 1))
            done = tuple(tap for _, tap in taps if tap.done_at is not None)
            later = (m for _, m in case.protocol.milestones() if m.side == "outside" and not m.spine)
            anytime = tuple(offer(case.id, case.state, m) for m in later if m.kind not in PERSONAL)
            rooms.append(RoomReady(case.room, todo, done, anytime))
        return cls(tuple(rooms))
