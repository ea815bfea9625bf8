"""What the room has asked for, in large words, and what it can ask for in one tap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.live.now import CaseNow
from app.live.views.taps import Offer

MOST = 12


@dataclass(frozen=True, slots=True)
class Asked:
    """One open request as the room sees it."""

    q: str
    item: str
    urgent: bool
    state: str
    since: datetime | None
    got: Offer
    cancel: Offer


@dataclass(frozen=True, slots=True)
class AsksView:
    """Open requests first, then at most twelve choices fitted to the stage."""

    waiting: tuple[Asked, ...]
    choices: tuple[Offer, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> AsksView:
        case = cases[0]
        waiting = tuple(
            Asked(
                r.q,
                r.item or "",
                r.urgency == "now",
                r.state.value,
                r.handed_in or r.acknowledged or r.asked,
                Offer("req.got", "Got it", case.id, {"q": r.q}),
                Offer("req.cancel", "Not needed", case.id, {"q": r.q}),
            )
            for r in case.state.open_requests
        )
        open_items = {r.item for r in case.state.open_requests}
        choices = tuple(
            Offer("req.new", c.item, case.id, {"item": c.item, "urg": c.urgency}, tone=c.urgency)
            for c in case.phase.requests
            if c.item not in open_items
        )
        return cls(waiting, choices[:MOST])
