"""A screen inside that shows no case yet: those it could show, or that one will open by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.live.now import CaseNow


@dataclass(frozen=True, slots=True)
class Choice:
    """One case to be inside of. `stage` is a message."""

    case: str
    room: str
    ref: str
    stage: str


@dataclass(frozen=True, slots=True)
class ChooseView:
    """The cases that the station serves, by room; a case that has ended is no choice."""

    choices: tuple[Choice, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> ChooseView:
        return cls(
            tuple(
                Choice(case.id, case.room, case.state.setup.ref or "", case.phase.title)
                for case in cases
                if case.state.closed_at is None
            )
        )
