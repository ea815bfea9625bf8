"""What is left to the desk in a case: exposures, actions, the end, the signature; and roles laid down or passed on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.live.now import CaseNow
from app.live.views.taps import Offer, offer

_ELSEWHERE = frozenset({"case.open", "role.assign"})
"""Opened by the desk's form, and given by the crew form beside this panel."""


@dataclass(frozen=True, slots=True)
class ClosingView:
    """The desk's own taps, in the order of the protocol; forms may be left empty where nothing need be said."""

    room: str
    taps: tuple[Offer, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> ClosingView:
        case = cases[0]
        found = [m for _, m in case.protocol.milestones() if m.kind not in _ELSEWHERE]
        wanted = [m for m in found if m.side == "desk" or m.kind.startswith("debrief.") or m.kind == "case.abort"]
        return cls(case.room, tuple(offer(case.id, case.state, m) for m in wanted))
