"""What the room has asked for, in large words, and what it can ask for in one tap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.lookahead import likely_next
from app.case.matching import proposed
from app.live.now import CaseNow
from app.live.views.taps import Offer
from app.live.views.vitals import figures

MOST = 12
ROWS_OF = 3
ROWS_LEAST = 2
LINES_MOST = 9
"""So many lines of figures, open requests and choices stand beside the next step on a tablet of 8 inches."""
BY_VOICE = N_("Other, said by voice")
"""Asks the door to listen: what is wanted has no button."""


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
    """Open requests first, then what the last milestone makes likely, then at most twelve choices fitted to the stage.

    offered  what the department's protocol offers in one tap because of what just happened; never sent by itself
    voice    for what has no button
    """

    waiting: tuple[Asked, ...]
    offered: Offer | None
    choices: tuple[Offer, ...]
    voice: Offer

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> AsksView:
        case, maybe = cases[0], proposed(cases[0].state)
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
            if r.q not in maybe
        )
        offered = _offered(case)
        open_items = {(r.item or "").casefold() for r in case.state.open_requests}
        if offered is not None:
            open_items.add(str(offered.body["item"]).casefold())
        choices = tuple(
            Offer("req.new", c.item, case.id, {"item": c.item, "urg": c.urgency}, tone=c.urgency)
            for c in case.phase.requests
            if c.item.casefold() not in open_items
        )
        # An open request and each of the stage's figures take a line: the page stays whole and does not scroll.
        lines = len(waiting) + len(maybe)  # a proposal names two requests and takes two lines
        rows = min(MOST // ROWS_OF, max(ROWS_LEAST, LINES_MOST - figures(case) - lines))
        room = ROWS_OF * rows - 1 - (offered is not None)
        voice = Offer("req.new", BY_VOICE, case.id, {"item": BY_VOICE, "urg": "now"})
        return cls(waiting, offered, choices[:room], voice)


def _offered(case: CaseNow) -> Offer | None:
    one = next((one for one in likely_next(case.state, case.protocol) if one.one_tap), None)
    if one is None:
        return None
    return Offer("req.new", one.item, case.id, {"item": one.item, "urg": "now", "from": "look-ahead"}, tone="now")
