"""What the rooms have asked for, as the door sees it: oldest first, "now" before "soon", the room the first word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.case.state import RequestState
from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class Wanted:
    """One open request at the door, with the one tap that moves it on."""

    room: str
    item: str
    kept: str
    urgent: bool
    state: str
    since: datetime | None
    runner: str
    next: Offer | None


@dataclass(frozen=True, slots=True)
class RequestsView:
    """unanswered: nobody has it in hand yet; coming: acknowledged or handed in."""

    unanswered: tuple[Wanted, ...]
    coming: tuple[Wanted, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RequestsView:
        rows = [(r, case) for case in cases for r in case.state.open_requests]
        rows.sort(key=lambda row: (row[0].urgency != "now", row[0].asked is None, row[0].asked, row[0].q))
        wanted = []
        for r, case in rows:
            kept = {c.item: c.kept for stage in case.protocol.phases for c in stage.requests}
            body = {"q": r.q}
            step = {
                RequestState.ASKED: Offer("req.ack", "I have it", case.id, body),
                RequestState.ACKNOWLEDGED: Offer("req.in", "Handed in", case.id, body),
            }.get(r.state)
            since = r.handed_in or r.acknowledged or r.asked
            runner = case.person(r.runner).name if r.runner else ""
            wanted.append(
                (
                    r.state,
                    Wanted(
                        case.room,
                        r.item or "",
                        kept.get(r.item or "", ""),
                        r.urgency == "now",
                        r.state.value,
                        since,
                        runner,
                        step,
                    ),
                )
            )
        return cls(
            tuple(w for state, w in wanted if state is RequestState.ASKED),
            tuple(w for state, w in wanted if state is not RequestState.ASKED),
        )
