"""What is likely wanted next, where it is kept and who comes: shown at the door, never sent by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.case.lookahead import likely_next
from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class Coming:
    """One thing that is likely next in a room. ask: asks for it on the room's behalf, where that may be."""

    room: str
    item: str
    kept: str
    comes: str
    ask: Offer | None


@dataclass(frozen=True, slots=True)
class LikelyView:
    """By room."""

    coming: tuple[Coming, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> LikelyView:
        return cls(
            tuple(
                Coming(
                    case.room,
                    one.item,
                    one.kept or "",
                    one.comes or "",
                    Offer("req.new", "Ready it", case.id, {"item": one.item, "urg": "now", "from": "look-ahead"})
                    if one.one_tap
                    else None,
                )
                for case in cases
                for one in likely_next(case.state, case.protocol)
                if one.asked is None
            )
        )
