"""What may be in the room already: handed in by voice while the line was down, and asked for later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.matching import Proposal, proposals
from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class Maybe:
    """One proposal. same: the tap that makes them one; other: the tap that says they are two."""

    room: str
    item: str
    given_at: datetime | None
    asked_at: datetime | None
    same: Offer
    other: Offer


@dataclass(frozen=True, slots=True)
class MaybeView:
    """All proposals, by room."""

    found: tuple[Maybe, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> MaybeView:
        return cls(tuple(_maybe(case, one) for case in cases for one in proposals(case.state)))


def _maybe(case: CaseNow, one: Proposal) -> Maybe:
    given, asked = one.given, one.asked
    same = Offer("tap.fix", N_("It is the same"), case.id, {"ref": one.entry, "set_q": asked.q})
    if asked.open and asked.acknowledged is None:
        other = Offer("req.ack", N_("Another one is wanted"), case.id, {"q": asked.q})
    else:
        other = Offer("req.got", N_("They are two"), case.id, {"q": given.q if given.open else asked.q})
    return Maybe(case.room, asked.item or "", given.handed_in, asked.asked, same, other)
