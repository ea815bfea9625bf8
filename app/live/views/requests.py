"""What the rooms have asked for, as the door sees it: oldest first, "now" before "soon", the room the first word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.matching import proposed
from app.case.state import Request, RequestState
from app.live.now import CaseNow
from app.live.views.taps import Offer


@dataclass(frozen=True, slots=True)
class Wanted:
    """One open request at the door.

    kept, sizes   where it is found and in which sizes, as far as the procedure's kit list says
    planned       the size that the plan names
    next, beside  the one tap that moves it on; and: somebody else takes it, or it went in already
    """

    id: str
    room: str
    item: str
    kept: str
    sizes: tuple[str, ...]
    planned: str
    urgent: bool
    state: str
    since: datetime | None
    asked: datetime | None
    runner: str
    next: Offer | None
    beside: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class RequestsView:
    """unanswered: nobody has it in hand yet; coming: acknowledged or handed in."""

    unanswered: tuple[Wanted, ...]
    coming: tuple[Wanted, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RequestsView:
        rows = [(r, case) for case in cases for r in case.state.open_requests if r.q not in proposed(case.state)]
        rows.sort(key=lambda row: (row[0].urgency != "now", row[0].asked is None, row[0].asked, row[0].q))
        wanted = [(r.state, _wanted(r, case)) for r, case in rows]
        return cls(
            tuple(w for state, w in wanted if state is RequestState.ASKED),
            tuple(w for state, w in wanted if state is not RequestState.ASKED),
        )


def _wanted(r: Request, case: CaseNow) -> Wanted:
    item = r.item or ""
    kept, sizes, planned = found_in(case, item)
    body = {"q": r.q}
    given = Offer("req.in", N_("Handed in"), case.id, body)
    step: Offer | None = None
    beside: tuple[Offer, ...] = ()
    if r.state is RequestState.ASKED:
        step = Offer("req.ack", N_("I have it"), case.id, body)
        others = (p for p in case.state.roles.get("OR", ()))
        fetch = tuple(Offer("req.ack", case.person(p).name, case.id, {**body, "p": p}) for p in others)
        beside = (*fetch, Offer("req.in", N_("Is in already"), case.id, body))
    elif r.state is RequestState.ACKNOWLEDGED:
        step = given
    return Wanted(
        f"{case.id}-{r.q}", case.room, item, kept, sizes, planned, r.urgency == "now", r.state.value,
        r.handed_in or r.acknowledged or r.asked, r.asked, case.person(r.runner).name if r.runner else "", step, beside,
    )  # fmt: skip


def found_in(case: CaseNow, item: str) -> tuple[str, tuple[str, ...], str]:
    """Where the procedure keeps something, its sizes, and the size that the plan names; empty where nothing is said."""
    said = item.casefold()
    choices = (c for stage in case.protocol.phases for c in stage.requests)
    choice = next((c for c in choices if c.item.casefold() == said), None)
    if choice is None:
        return "", (), ""
    kit = (piece for tray in case.protocol.kit for piece in tray.items)
    piece = next((piece for piece in kit if piece.code == choice.kit_code), None) if choice.kit_code else None
    plan = case.state.plan
    size = {"tube": plan.tube, "small_tubes": plan.tube, "sga": plan.sga, "sga_sizes": plan.sga}.get(
        choice.kit_code or ""
    )
    return (
        choice.kept,
        piece.choices if piece else (),
        "" if size is None else f"{size:g}" if isinstance(size, float) else str(size),
    )
