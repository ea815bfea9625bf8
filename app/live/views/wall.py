"""A wall screen, read from across the room: one case, no buttons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.live.now import CaseNow
from app.live.views.asks import AsksView
from app.live.views.board import help_since
from app.live.views.clock import ClockView
from app.live.views.heading import HeadingView
from app.live.views.next import NextView
from app.live.views.notices import NoticesView


@dataclass(frozen=True, slots=True)
class WallView:
    """What the inside page shows, without what only a finger needs.

    rescue      the plan that was declared, until an airway is proven; help_since: since when help is called
    """

    heading: HeadingView
    clock: ClockView
    next: str
    notices: NoticesView
    asks: AsksView
    rescue: str | None
    help_since: datetime | None

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> WallView:
        step, state = NextView.of(cases).step, cases[0].state
        return cls(
            HeadingView.of(cases),
            ClockView.of(cases),
            step.label if step else "",
            NoticesView.in_room(cases),
            AsksView.of(cases),
            None if state.airway.proven_at is not None else state.airway.rescue,
            help_since(state),
        )
